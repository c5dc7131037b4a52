use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::UnitWrongDimension,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A figure has a unit of something else.",
    explanation: "A length in psi or a pressure in metres shows that a figure landed in the wrong field, or that a \
                  unit was mistyped into another. Look up what was meant rather than exchange the unit alone.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
air mf port 2 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 psi
#                                                   ^^^^^^^
",
        passing: r"
air mf port 2 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 ft
",
    }),
    check: Check::WhileReading,
};
