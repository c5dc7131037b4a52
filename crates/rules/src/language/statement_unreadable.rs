use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::StatementUnreadable,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A statement cannot be read.",
    explanation: "A word is missing, or one is where it cannot be, or a brace or quote is missing. Only this statement is left \
                  out: \
                  everything else keeps its meaning, and nothing is reported that may follow from the missing one. \
                  Correct it first, then look again.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
block tc { pairs 10
#        ^
spare tc pair 1 .. 10
",
        passing: r"
block tc { pairs 10 }
spare tc pair 1 .. 10
",
    }),
    check: Check::WhileReading,
};
