use drysheath_office::kinds::Key;

use super::office_field::report_missing;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SiteCodeMissing,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(Scope::Thing, &[RuleId::OfficeWithoutEquipment])],
    family: Family::Records,
    summary: "An office that is installed has no site code.",
    explanation: "A record is known by the site code, the device and the signal, whatever else changes. Without the code \
                  the office's short name takes its place, and every record of the office becomes a new one on the day \
                  the code is written. While the office is planned, nobody asks for it.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
office elm-hollow {
#      ^^^^^^^^^^
    title "Elm Hollow", elevation 310 m, stage installed, coldest -25 degC
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
    if !inspection.office.is_planned() {
        report_missing(
            inspection,
            sink,
            Key::Site,
            "has no site code, by which its records are known",
            "write it: `site \"...\"`",
        );
    }
}
