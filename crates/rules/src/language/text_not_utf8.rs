use crate::registry::RuleId;
use crate::rule::{Check, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::TextNotUtf8,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A file is not UTF-8 text.",
    explanation: "Office files are UTF-8 text, so that every degree sign and every name reads the same for everyone. \
                  A file in another encoding is not read. Save it as UTF-8 in your editor.",
    source: Source::Language,
    example: None,
    check: Check::WhileReading,
};
