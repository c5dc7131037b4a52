use drysheath_office::Fields;
use drysheath_office::kinds::Key;

use super::inputs::itself;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SiteCodeMissing,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::HandOver,
    summary: "An office that is handed over has no site code.",
    explanation: "A record is known by the site code, the device and the signal, whatever else changes. Without the code \
                  the office's short name takes its place, and every record of the office becomes a new one on the day \
                  the code is written. Write it with `site`.",
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
    check: Check::HandOver(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let Some((id, itself)) = itself(inspection) else { return };
    if itself.text(Key::Site).is_none() {
        let office = inspection.office.name(id);
        let message = format!("office `{office}` has no site code, by which its records are known");
        sink.report(id, itself.name, message).help("write it: `site \"...\"`");
    }
}
