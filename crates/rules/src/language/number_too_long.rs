use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::NumberTooLong,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A number has more digits than any figure of the trade.",
    explanation: "No length, pressure or count needs forty digits. A number that long comes from a stuck key or from \
                  two numbers that ran together, and whatever it were read as would be wrong.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
block tc { pairs 10000000000000000000000000000000000000000 }
#                ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
",
        passing: r"
block tc { pairs 0000000000000000000000000000000000000010 }
spare tc pair 1 .. 10
",
    }),
    check: Check::WhileReading,
};
