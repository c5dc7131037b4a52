use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PortUnknown,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A run ends on a port that the thing does not have.",
    explanation: "Each kind of thing has its own ports: a block has pairs, a monitor has sensor and contact inputs, \
                  a fuse panel has fuse positions. A run that ends on none of them joins nothing. Correct the word, \
                  or say which port is meant where there are several.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
wire f1 flw -> tb pair 1 -> m1 sensor 1 with 22 awg, 8 m
#       ^^^
# without wire f1 flow
",
        passing: r"
wire f1 flow -> tb pair 1 -> m1 sensor 1 with 22 awg, 8 m
",
    }),
    check: Check::WhileReading,
};
