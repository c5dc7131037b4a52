use crate::rule::{Check, Family, Level, Rule, Source};

pub(super) static RULE: Rule = Rule {
    name: "use-outside-repository",
    level: Level::Error,
    while_planned: None,
    family: Family::Language,
    summary: "A file outside the repository is used.",
    explanation: "A repository has to read the same for everyone who has a copy of it, and a file beside it is not \
                  in the copy. Copy the parts into the repository and use them from there.",
    source: Source::Language,
    example: None,
    check: Check::WhileReading,
};
