use drysheath_office::Fields;

use super::inputs::recorded_inputs;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LimitMissing,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::HandOver,
    summary: "A sensor that comes to an input has no limit.",
    explanation: "A reading without a limit raises no alarm, whatever happens to the cable. Write at least one, with \
                  `limit`, its severity and its deadband.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
pressure-sensor ps1 { at c101 3.2 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi }
#               ^^^
",
        passing: r"
pressure-sensor ps1 {
    at c101 3.2 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi
    limit low 6.7 psi critical deadband 0.2 psi
}
",
    }),
    check: Check::HandOver(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for input in recorded_inputs(inspection).filter(|input| !input.is_contact()) {
        if input.signal.fields.limits().next().is_none() {
            let called = input.called();
            input
                .report(
                    sink,
                    format!("{called} has no limit, so no reading of it raises an alarm"),
                )
                .help("write one, such as `limit low 3 psi major deadband 0.3 psi`");
        }
    }
}
