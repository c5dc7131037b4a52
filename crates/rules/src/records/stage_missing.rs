use drysheath_office::kinds::Key;

use super::office_field::report_missing;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::StageMissing,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Thing, &[RuleId::OfficeWithoutEquipment])],
    family: Family::Records,
    summary: "An office does not say its stage.",
    explanation: "What is not wired yet is natural while an office is on paper, and a fault once it is installed. An office that does not say is \
                  taken as installed, so that nothing is overlooked. Say whether it is planned, installed or in service.",
    source: Source::Language,
    example: Some(Example {
        failing: r#"
office elm-hollow {
#      ^^^^^^^^^^
    title "Elm Hollow", site "ELMH01", elevation 310 m, coldest -25 degC
    air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi }
}
"#,
        passing: r#"
office elm-hollow {
    title "Elm Hollow", site "ELMH01", elevation 310 m, stage in-service, coldest -25 degC
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
        Key::Stage,
        "does not say its stage, and is taken as installed",
        "say `stage planned`, `stage installed` or `stage in-service`",
    );
}
