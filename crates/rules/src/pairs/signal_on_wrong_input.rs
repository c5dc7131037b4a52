use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Fields, Office, Terminal};

use super::circuit::{called, circuits, place_of, written};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SignalOnWrongInput,
    level: Level::Error,
    while_planned: None,
    yields_to: &[
        (Scope::Place, &[RuleId::InputOutOfRange]),
        (
            Scope::Circuit,
            &[
                RuleId::PairAssignedTwice,
                RuleId::InputAssignedTwice,
                RuleId::SignalWiredTwice,
            ],
        ),
    ],
    family: Family::Pairs,
    summary: "A sensor ends on a contact input, or a contact on a sensor input.",
    explanation: "A sensor input measures, a contact input only tells open from closed. A sensor on a contact input gives no \
                  reading, and a contact on a sensor input reads as a pinned or dead sensor. Move the pair to an input of \
                  the right kind. Where a monitor states no `contacts`, its inputs are taken to be universal, and contacts on them \
                  are right.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
wire d1 contact humidity -> tb pair 4 -> m1 sensor 4
#                                        ^^^^^^^^^^^
# without spare m1 sensor 4
spare m1 sensor 5 .. 8
spare m1 contact 1
",
        passing: r"
wire d1 contact humidity -> tb pair 4 -> m1 contact 2
# without spare m1 contact
spare m1 contact 1
spare m1 contact 3 .. 4
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let mut reported = None;
    for circuit in circuits(inspection).filter(|circuit| circuit.signals == 1 && circuit.inputs == 1) {
        let Some((from, to)) = circuit.signal.zip(circuit.input) else {
            continue;
        };
        let (signal, input) = (wire.terminal(from), wire.terminal(to));
        if !is_wrong_for(signal, input) || is_universal(office, input) {
            continue;
        }
        let range = place_of(wire, to);
        // The correct input then lacks its signal.
        let ports = ["sensor", "contact"].map(|word| Subject::Ports(input.thing, word));
        let subjects = [Subject::Terminal(to), Subject::Place(office.place(range))];
        let subjects = subjects.into_iter().chain(ports);
        let subjects = subjects.into_iter().chain(circuit.subject(wire));
        if reported.replace(range) == Some(range) {
            sink.and_about(subjects);
            continue;
        }
        let (is, wants) = match input.port.role {
            Role::SensorInput => ("a contact", "a contact input"),
            _ => ("a sensor", "a sensor input"),
        };
        let device = written(inspection, from);
        let message = format!("{} cannot read `{device}`, which is {is}", called(office, input));
        sink.report(input.thing, range, message)
            .about(subjects)
            .related(office.place(place_of(wire, from)), format!("`{device}` is {is}"))
            .help(format!("move it to {wants}"));
    }
    from_elsewhere(inspection, sink);
}

/// Reports an input that cannot read the device that another office wires to its pair.
fn from_elsewhere(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    for circuit in circuits(inspection).filter(|circuit| circuit.signals == 0 && circuit.inputs == 1) {
        let (Some(to), Some(elsewhere)) = (circuit.input, circuit.elsewhere) else {
            continue;
        };
        let input = wire.terminal(to);
        let Some(is_contact) = elsewhere.is_contact.filter(|_| elsewhere.signals == 1) else {
            continue;
        };
        let is_right = is_contact == (input.port.role == Role::ContactInput);
        if is_right || !input.port.role.is_input() || is_universal(office, input) {
            continue;
        }
        let (is, wants) = if is_contact {
            ("a contact", "a contact input")
        } else {
            ("a sensor", "a sensor input")
        };
        let all = inspection.networks.merged(office).office;
        let device = elsewhere.thing.map_or("", |device| all.name(device));
        let message = format!("{} cannot read `{device}`, which is {is}", called(office, input));
        sink.report(input.thing, place_of(wire, to), message)
            .about(circuit.subject(wire))
            .related(elsewhere.place, format!("the wire of `{device}`"))
            .help(format!("move it to {wants}"));
    }
}

/// Whether an input belongs to a monitor with only one sort of inputs.
fn is_universal(office: &Office, input: &Terminal) -> bool {
    input.port.role == Role::SensorInput && !office.thing(input.thing).has(Key::Contacts)
}

/// Whether a contact is wired to a sensor input, or a sensor to a contact input.
fn is_wrong_for(signal: &Terminal, input: &Terminal) -> bool {
    let Role::Signal(kind) = signal.port.role else {
        return false;
    };
    input.port.role.is_input() && kind.dimension.is_none() != (input.port.role == Role::ContactInput)
}
