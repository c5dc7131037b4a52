use crate::registry::RuleId;
use crate::rule::{Check, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SettingsUnreadable,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "Something in the settings cannot be understood, or does not hold where it stands.",
    explanation: "`drysheath.toml` sets the levels of rules and the figures that are practice rather than physics. \
                  An entry with an unknown name or a wrong value changes nothing, so that a check may be stricter or \
                  laxer than somebody believes. The rest of the settings holds. The file of a folder below the root says what is \
                  other there: another language or other standard conditions than the repository's, and a level below one that a \
                  file above states, are refused too.",
    source: Source::Language,
    example: None,
    check: Check::WhileReading,
};
