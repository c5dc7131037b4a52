use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FieldTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "One field is given twice.",
    explanation: "Two figures for one thing cannot both be right, and whoever reads the record takes either. Only \
                  the first is used here. Keep the one that is true.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
block tc { pairs 10, pairs 20 }
#                    ^^^^^^^^
spare tc pair 1 .. 10
",
        passing: r"
block tc { pairs 10, pins no }
spare tc pair 1 .. 10
",
    }),
    check: Check::WhileReading,
};
