use crate::registry::RuleId;
use crate::rule::{Check, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LanguageMissing,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A repository does not say the number of its language.",
    explanation: "The first line of `drysheath.toml` says which language all files of the repository are written in, such as \
                  `language = 1`. Only so can a program tell what it does not know yet from what is wrong. Repositories of the \
                  first language say nothing: `drysheath migrate` replaces the words that have changed since, checks that no \
                  figure and no result changes, and writes the number. Until then the old words are understood, and \
                  this one result stands for all of them. A file outside of any repository needs no number.",
    source: Source::Language,
    example: None,
    check: Check::WhileReading,
};
