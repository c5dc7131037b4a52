use drysheath_office::kinds::KindId;
use drysheath_office::line::position_of;

use super::inputs::recorded_inputs;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::CablePairMissing,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::HandOver,
    summary: "A device out on a cable comes to an input over no cable pair.",
    explanation: "Whoever tests the line, or locates a fault in it, needs the cable pair. A wire that leads from a device on \
                  a cable straight to the office leaves that pair out. Write the pair between the two.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
wire ps1 -> tb pair 3 -> m1 sensor 3
pressure-sensor ps1 {
#               ^^^
    at c101 3.2 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi
    limit low 6.7 psi minor deadband 0.3 psi
}
",
        passing: r"
wire ps1 -> c101 pair 12 -> tb pair 3 -> m1 sensor 3
",
    }),
    check: Check::HandOver(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for input in recorded_inputs(inspection) {
        let all = inspection.networks.merged(inspection.office);
        let Some(position) = position_of(all.office, all.networks, input.device) else {
            continue;
        };
        if !input.passes(inspection, KindId::Cable) {
            let (device, host) = (input.name, all.office.name(position.host));
            let called = input.called_input(inspection);
            input
                .report(
                    sink,
                    format!("`{device}`, out on `{host}`, comes to {called} over no cable pair"),
                )
                .help("write the cable pair between the device and the block");
        }
    }
}
