use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::NameTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "One name is given to two things.",
    explanation: "A run that leads to a name has to lead to one thing. With two of that name every reader picks one, \
                  and not all the same. Only the first is taken here, and nothing is said of what the second lacks. \
                  Rename one of them, and every run that means it.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
block tc { pairs 10 }
block tc { pairs 20 }
#     ^^
spare tc pair 1 .. 10
",
        passing: r"
block tc { pairs 10 }
block td { pairs 20 }
spare tc pair 1 .. 10
spare td pair 1 .. 20
",
    }),
    check: Check::WhileReading,
};
