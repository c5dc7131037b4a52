use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FieldMissing,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A field that must be there is missing.",
    explanation: "Checks depend on the figures of the record: the span of a sensor, the pairs of a block. A planned \
                  office has to say the least without which nothing can be checked; once it is installed, the record \
                  has to be whole. Look the figure up on the thing itself rather than guess it.",
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
