use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::OfficeRepeated,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A file describes two offices.",
    explanation: "Names belong to one office: with two in a file nobody can tell which of them a thing belongs to. \
                  Give each office a file of its own, and put what they share into a file of parts.",
    source: Source::Language,
    example: Some(Example {
        failing: r#"
office elm-hollow { title "Elm Hollow", site "ELMH01", elevation 310 m, stage installed, coldest -25 degC }
office elm-valley { title "Elm Valley", site "ELMV01", elevation 290 m, stage planned }
#      ^^^^^^^^^^
"#,
        passing: r#"
office elm-hollow { title "Elm Hollow", site "ELMH01", elevation 310 m, stage installed, coldest -25 degC }
"#,
    }),
    check: Check::WhileReading,
};
