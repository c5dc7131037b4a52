use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FieldMissing,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A required field is missing.",
    explanation: "Checks depend on the figures of the record: the span of a sensor, the pairs of a block. A planned office must state \
                  the minimum without which nothing can be checked; once it is installed, its record must be complete. Look the \
                  figure up on the equipment rather than guess it.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
block tc { pins no }
#     ^^
",
        passing: r"
block tc { pairs 10 }
spare tc pair 1 .. 10
",
    }),
    check: Check::WhileReading,
};
