use drysheath_prediction::signal_paths;
use drysheath_syntax::Medium;

use super::inputs::itself;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::NoInputInUse,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::HandOver,
    summary: "No signal comes to any input of the office that is handed over.",
    explanation: "There is one record for each input that a signal comes to. An office without any has nothing to be \
                  entered: either its wires are not written down yet, or each of them stops on its way.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
office elm-hollow {
#      ^^^^^^^^^^
    title "Elm Hollow", site "ELMH01", elevation 310 m, stage installed, coldest -25 degC
    air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi }
}
# without wire
"#,
        passing: r"
# without wire f1
# without wire p1
# without wire d1
",
    }),
    check: Check::HandOver(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let Some((id, itself)) = itself(inspection) else { return };
    let mut paths = signal_paths(inspection.office, inspection.networks);
    // Signals that are read in another office have their records there.
    if paths.next().is_none() && !inspection.office.unsure.about(Medium::Wire) {
        sink.report(
            id,
            itself.name,
            "no signal comes to any input of a monitor, so there is nothing to enter",
        )
        .help("write down the wires that lead from the devices to the inputs");
    }
}
