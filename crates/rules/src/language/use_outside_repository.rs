use crate::registry::RuleId;
use crate::rule::{Check, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::UseOutsideRepository,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A file outside the repository is used.",
    explanation: "A repository has to read the same for everyone who has a copy of it, and a file beside it is not \
                  in the copy. Copy the parts into the repository and use them from there.",
    source: Source::Language,
    example: None,
    check: Check::WhileReading,
};
