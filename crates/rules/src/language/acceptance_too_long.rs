use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::AcceptanceTooLong,
    level: Level::Note,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "An acceptance holds for years.",
    explanation: "The last day of an acceptance is the day by which somebody has to look at the result again. A day that \
                  is years away means never: by then nobody knows who accepted it, or whether the reason still holds. \
                  Choose a day within the time that the setting `acceptance-term` allows, and renew the acceptance then \
                  if it is still right.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
# without spare tb pair 5
accept pair-not-said-spare on tb because "second feeder cable, one day" until 2028-11-01
#                                                                             ^^^^^^^^^^
"#,
        passing: r#"
# without spare tb pair 5
accept pair-not-said-spare on tb because "second feeder cable, one day" until 2028-10-31
"#,
    }),
    check: Check::WhileReading,
};
