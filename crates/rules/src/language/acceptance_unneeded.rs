use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::AcceptanceUnneeded,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "An acceptance accepts nothing.",
    explanation: "What was accepted has been corrected, and the acceptance was left behind. It would hide the same slip \
                  if it came back. Delete the line.",
    source: Source::Language,
    example: Some(Example {
        failing: r#"
 accept pair-not-said-spare on tb because "second feeder cable, spring" until 2027-04-30
#^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
"#,
        passing: r#"
# without spare tb pair 5
accept pair-not-said-spare on tb because "second feeder cable, spring" until 2027-04-30
"#,
    }),
    check: Check::WhileReading,
};
