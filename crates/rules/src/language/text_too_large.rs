use crate::registry::RuleId;
use crate::rule::{Check, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::TextTooLarge,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A file is too large to be an office.",
    explanation: "An office is a few hundred lines. A file of many megabytes is something else that got the wrong \
                  name, and is not read. Give it another name, or leave it out of the repository.",
    source: Source::Language,
    example: None,
    check: Check::WhileReading,
};
