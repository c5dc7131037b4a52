use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::UnitMissing,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A figure has no unit.",
    explanation: "A pressure of 10 may be psi or kPa, and a length of 8 may be feet or metres: one reads it one way, \
                  the next the other. Every figure states its unit, and is shown in the unit that it was written in.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
air mf port 2 -> p1 with 1/4 in tube, 0.17 in bore, 0.5
#                                                   ^^^
",
        passing: r"
air mf port 2 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 m
",
    }),
    check: Check::WhileReading,
};
