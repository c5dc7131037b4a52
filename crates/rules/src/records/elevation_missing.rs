use drysheath_office::kinds::Key;

use super::office_field::report_missing;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ElevationMissing,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Thing, &[RuleId::OfficeWithoutEquipment])],
    family: Family::Records,
    summary: "An office does not say its elevation.",
    explanation: "Gauges read from the pressure of the surrounding air, and that falls with height: at 5280 ft there are 12.1 psi of it \
                  instead of 14.7, which adds an eighth to every pressure drop. Without an elevation the office is taken to lie at \
                  sea level. A map is exact enough.",
    source: Source::Published("ISO 2533"),
    example: Some(Example {
        failing: r#"
office elm-hollow {
#      ^^^^^^^^^^
    title "Elm Hollow", site "ELMH01", stage installed, coldest -25 degC
    air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi }
}
"#,
        passing: r#"
office elm-hollow {
    title "Elm Hollow", site "ELMH01", elevation 0 m, stage installed, coldest -25 degC
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
        Key::Elevation,
        "does not say its elevation, and is taken to lie at sea level",
        "look it up on a map: `elevation … m`",
    );
}
