use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::NameUnknown,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A run or field names something that is not declared.",
    explanation: "A run leads to things by their names, and a name that nobody declares leads nowhere. Either it is a typing \
                  error, or the thing itself is missing from the record. The whole run is left out of \
                  every check until its names are known.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
wire f1 flow -> tbb pair 1 -> m1 sensor 1 with 22 awg, 8 m
#               ^^^
",
        passing: r"
wire f1 flow -> tb pair 1 -> m1 sensor 1 with 22 awg, 8 m
",
    }),
    check: Check::WhileReading,
};
