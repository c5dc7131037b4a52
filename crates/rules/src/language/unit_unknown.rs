use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::UnitUnknown,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A figure has a unit that is not known.",
    explanation: "A unit that is not known here cannot be compared with any other. Most are a typing error or a \
                  spelling from elsewhere. The reference lists the units of each dimension.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
air mf port 2 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 meterz
#                                                       ^^^^^^
",
        passing: r"
air mf port 2 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 m
",
    }),
    check: Check::WhileReading,
};
