use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::AcceptanceVoid,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "An acceptance cannot hold.",
    explanation: "An acceptance names a rule, gives a reason and ends on a day. Without a reason nobody can judge \
                  later whether it still holds; without a rule or a day it accepts nothing, and the result it was \
                  meant for is shown as before.",
    source: Source::Language,
    example: Some(Example {
        failing: r#"
accept pair-not-said-spare on tb because "" until 2027-04-30
#                                        ^^
"#,
        passing: r#"
# without spare tb pair 5
accept pair-not-said-spare on tb because "second feeder cable, spring" until 2027-04-30
"#,
    }),
    check: Check::WhileReading,
};
