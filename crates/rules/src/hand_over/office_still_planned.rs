use super::inputs::itself;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::OfficeStillPlanned,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::HandOver,
    summary: "An office that is handed over is still planned.",
    explanation: "While the stage of an office is `planned`, none of its equipment need be in place, and a test call to it \
                  reaches nobody. Write the stage that the office has reached.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
office elm-hollow {
#      ^^^^^^^^^^
    title "Elm Hollow", site "ELMH01", elevation 310 m, stage planned, coldest -25 degC
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
    check: Check::HandOver(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let Some((id, itself)) = itself(inspection) else { return };
    if inspection.office.is_planned() {
        let office = inspection.office.name(id);
        let message = format!("office `{office}` is still planned, so there is nothing to test yet");
        sink.report(id, itself.name, message)
            .help("write the stage that it has reached: `stage installed` or `stage in-service`");
    }
}
