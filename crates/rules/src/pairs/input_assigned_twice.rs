use drysheath_office::kinds::Role;
use drysheath_office::{Terminal, TerminalId, Wiring};
use drysheath_text::TextRange;

use super::circuit::{CircuitOf, called, place_of};
use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::run_around;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::InputAssignedTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(Scope::Terminal, &[RuleId::PairAssignedTwice, RuleId::SignalWiredTwice])],
    family: Family::Pairs,
    summary: "One input of a monitor, or one control, is given to two pairs.",
    explanation: "An input reads one device. With two pairs on it the monitor shows a reading that belongs to neither, \
                  under one name. Give one of them a free input, and tell whoever enters the record in the monitoring \
                  system. A control is switched by one output as well.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
wire ps1 -> c101 pair 37 -> tb pair 3 -> m1 sensor 2
#                                        ^^^^^^^^^^^
",
        passing: r"
wire ps1 -> c101 pair 37 -> tb pair 3 -> m1 sensor 4
spare m1 sensor 3
spare m1 sensor 5 .. 8
# without spare m1 sensor 4
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let wire = &inspection.networks.wire;
    let mut reported = None;
    let mut circuits = CircuitOf::new(inspection);
    for (id, terminal) in wire.terminals() {
        if terminal.port.role.ends_circuit() && wire.connections_at(id).len() > 1 {
            let circuit = circuits.find(id);
            if circuit.shares_a_pair(inspection) {
                continue;
            }
            let only_pair = only_pair(wire, id).map(Subject::Terminal);
            let ports = Subject::Ports(terminal.thing, terminal.port.word);
            let subjects = [circuit.subject(wire), circuit.only_signal(), only_pair, Some(ports)];
            let subjects = || subjects.into_iter().flatten();
            let last = wire.connections_at(id).last().map(|joint| joint.range_at(id));
            if last == reported {
                sink.and_about(subjects());
            } else {
                for place in later_places(wire, id) {
                    report(inspection, (id, terminal), place, sink).about(subjects());
                }
            }
            reported = last;
        }
    }
}

/// Places where runs name an input after the first time, or the first place where one run continues from it.
fn later_places(wire: &Wiring, id: TerminalId) -> Vec<TextRange> {
    let mut places: Vec<_> = wire.connections_at(id).map(|joint| joint.range_at(id)).collect();
    places.dedup();
    if places.len() > 1 {
        places.remove(0);
    }
    places
}

/// The pair that all wires of an input come from, if there is only one; it is then assigned twice as well.
fn only_pair(wire: &Wiring, id: TerminalId) -> Option<TerminalId> {
    let mut others = wire
        .connections_at(id)
        .map(|joint| if joint.from == id { joint.to } else { joint.from });
    let first = others.next();
    first.filter(|first| others.all(|other| other == *first))
}

fn report<'s>(
    inspection: &Inspection<'_>,
    (id, input): (TerminalId, &Terminal),
    place: TextRange,
    sink: &'s mut Sink<'_>,
) -> &'s mut Finding {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let first = place_of(wire, id);
    let called = called(office, input);
    if first == place {
        return sink
            .report(
                input.thing,
                place,
                format!("a wire leads on from {called}, where it should end"),
            )
            .help("end the run at the input, and give what follows a run of its own");
    }
    sink.report(input.thing, place, format!("{called} already has a wire"))
        .related(
            office.place(first),
            format!("{called} is wired by {}", run_around(office, first)),
        )
        .help(if input.port.role == Role::Control {
            "delete one of the two wires: one output switches a control"
        } else {
            "give one of the two a free input"
        })
}
