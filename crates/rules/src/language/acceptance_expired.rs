use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::AcceptanceExpired,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "An acceptance has expired.",
    explanation: "Whoever accepted this result gave it a day to be looked at again, and that day is past. The result \
                  counts again. Correct what was accepted, or ask whether the reason still holds and give it a new day.",
    source: Source::Language,
    example: Some(Example {
        failing: r#"
accept pair-not-said-spare on tb because "second feeder cable, autumn" until 2026-10-31
#                                                                            ^^^^^^^^^^
"#,
        passing: r#"
# without spare tb pair 5
accept pair-not-said-spare on tb because "second feeder cable, spring" until 2026-11-01
"#,
    }),
    check: Check::WhileReading,
};
