use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ValueUnreadable,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "The value of a field or port cannot be understood.",
    explanation: "The words are there, but not the ones this field can take: a count takes a whole number, a choice \
                  one of its words, a range two figures with `..` between. The thing is left out of every check that needs it. The message says what is expected.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
block tc { pairs ten }
#                ^^^
spare tc pair 1 .. 10
",
        passing: r"
block tc { pairs 10 }
spare tc pair 1 .. 10
",
    }),
    check: Check::WhileReading,
};
