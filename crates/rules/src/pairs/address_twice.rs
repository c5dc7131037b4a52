use drysheath_office::ThingId;

use super::addresses::{address_place, addressed, reported_at};
use super::circuit::{Circuit, circuits};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::AddressTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "Two sensors on one pair have the same address.",
    explanation: "Sensors that share a pair are told apart by the address that is set in each. With one address twice both answer at \
                  once, and the monitor reads neither. Set another address in one of them, and write it down.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
monitor m1 { sensors 8, contacts 4, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg, loop-max 4000 ohm, addresses 16, link lan "192.0.2.11" }
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    address 1
    limit low 6.7 psi minor deadband 0.3 psi
}
pressure-sensor ps2 {
    at    c101 1.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    address 1
#   ^^^^^^^^^
    limit low 6 psi minor deadband 0.3 psi
}
wire ps2 -> c101 pair 37
"#,
        passing: r#"
monitor m1 { sensors 8, contacts 4, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg, loop-max 4000 ohm, addresses 16, link lan "192.0.2.11" }
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    address 1
    limit low 6.7 psi minor deadband 0.3 psi
}
pressure-sensor ps2 {
    at    c101 1.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    address 2
    limit low 6 psi minor deadband 0.3 psi
}
wire ps2 -> c101 pair 37
"#,
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let all = inspection.networks.merged(inspection.office);
    let (office, wire) = (all.office, &all.networks.wire);
    if !office.has_addresses() {
        return;
    }
    // Reported in the office of the monitor, wherever the sensors are.
    let has_monitor = |circuit: &Circuit| circuit.inputs > 0;
    let circuits = circuits(inspection)
        .filter(has_monitor)
        .map(|circuit| circuit.whole(inspection));
    for circuit in circuits.filter(|circuit| circuit.is_addressed(office, wire)) {
        let mut known: Vec<(u32, ThingId)> = Vec::new();
        for (id, address) in addressed(office, wire, &circuit) {
            let Some((_, first)) = known.iter().find(|(own, _)| *own == address) else {
                known.push((address, id));
                continue;
            };
            // Report on the sensor in this office, if only one of the two is.
            let (id, first) = if inspection.office.has(id) {
                (id, *first)
            } else {
                (*first, id)
            };
            let (name, other) = (office.name(id), office.name(first));
            let message = format!("`{name}` has address {address}, and so has `{other}` on the same pair");
            let (on, range) = reported_at(inspection, &circuit, id);
            let finding = sink.report(on, range, message);
            if on != id {
                finding.related(address_place(office, id), format!("the address of `{name}`"));
            }
            finding
                .related(address_place(office, first), format!("the address of `{other}`"))
                .about(circuit.subject(wire))
                .help("set another address in one of the two, and write it down");
        }
    }
}
