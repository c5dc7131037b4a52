use drysheath_office::Fields;
use drysheath_office::ThingId;
use drysheath_office::kinds::{Key, Role};

use super::addresses::{address_place, addressed, reported_at};
use super::circuit::circuits;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::AddressNotRead,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "A sensor has an address that its monitor does not read.",
    explanation: "Only an input made for it reads sensors by their addresses, and only so many on one pair: the monitor says how many \
                  with `addresses`. A sensor with an address beyond that, or on a monitor that reads none, is never read. Set a \
                  lower address, wire it to another monitor, or write down how many addresses the monitor's maker states.",
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
    address 17
#   ^^^^^^^^^^
    limit low 6.7 psi minor deadband 0.3 psi
}
"#,
        passing: r#"
monitor m1 { sensors 8, contacts 4, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg, loop-max 4000 ohm, addresses 16, link lan "192.0.2.11" }
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    address 16
    limit low 6.7 psi minor deadband 0.3 psi
}
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
    let mut silent: Vec<(ThingId, Vec<ThingId>)> = Vec::new();
    for circuit in circuits(inspection) {
        let input = circuit.input.map(|id| wire.terminal(id));
        let circuit = circuit.whole(inspection);
        let Some(input) = input.filter(|input| input.port.role == Role::SensorInput) else {
            continue;
        };
        let monitor = office.thing(input.thing);
        for (id, address) in addressed(office, wire, &circuit) {
            match monitor.count(Key::Addresses) {
                Some(most) if address > most => {
                    let (name, reader) = (office.name(id), office.name(input.thing));
                    let message = format!(
                        "`{name}` has address {address}, and an input of `{reader}` reads addresses 1 to {most}"
                    );
                    let (on, range) = reported_at(inspection, &circuit, id);
                    let finding = sink.report(on, range, message);
                    if on != id {
                        finding.related(address_place(office, id), format!("the address of `{name}`"));
                    }
                    finding
                        .related(
                            office.place(monitor.place_of(Key::Addresses, office.file)),
                            format!("how many addresses `{reader}` reads"),
                        )
                        .help("set a lower address in it, or correct what the monitor reads");
                }
                None if !monitor.damaged => match silent.iter_mut().find(|(known, _)| *known == input.thing) {
                    Some((_, devices)) => devices.push(id),
                    None => silent.push((input.thing, vec![id])),
                },
                _ => {}
            }
        }
    }
    for (monitor, devices) in silent {
        let name = office.name(monitor);
        let message = format!(
            "`{name}` does not say that it reads addresses, and {} on it {} one",
            crate::figures::names(office, &devices),
            if devices.len() == 1 { "has" } else { "have" }
        );
        let finding = sink.report(monitor, office.thing(monitor).name, message);
        if let Some(first) = devices.first() {
            finding.related(
                address_place(office, *first),
                format!("the address of `{}`", office.name(*first)),
            );
        }
        finding.help("write how many addresses an input of it reads, such as `addresses 16`, as its maker says");
    }
}
