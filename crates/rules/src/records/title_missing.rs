use drysheath_office::kinds::Key;

use super::office_field::report_missing;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::TitleMissing,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Thing, &[RuleId::OfficeWithoutEquipment])],
    family: Family::Records,
    summary: "An office has no title.",
    explanation: "The name that people say is what the printed sheet and the ticket show. Without it they show the short name in the file, \
                  which not everybody knows. Write it as the crews say it.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
office elm-hollow {
#      ^^^^^^^^^^
    site "ELMH01", elevation 310 m, stage installed, coldest -25 degC
    air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi }
}
"#,
        passing: r#"
office elm-hollow {
    title "Elm Hollow", site "ELMH01", elevation 310 m, stage installed, coldest -25 degC
    air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi }
}
"#,
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    report_missing(
        inspection,
        sink,
        Key::Title,
        "has no title",
        "write it as people say it: `title \"…\"`",
    );
}
