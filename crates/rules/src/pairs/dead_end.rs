use super::circuit::{Circuit, called, circuits, place_of, written};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use drysheath_office::kinds::Role;
use drysheath_syntax::Medium;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DeadEnd,
    level: Level::Error,
    while_planned: Some(Level::Note),
    yields_to: &[
        (
            Scope::Circuit,
            &[
                RuleId::PairAssignedTwice,
                RuleId::InputAssignedTwice,
                RuleId::SignalWiredTwice,
                RuleId::OutputNotToControl,
                RuleId::PairTakenElsewhere,
            ],
        ),
        (
            Scope::Wires,
            &[
                RuleId::RangeLengthsDiffer,
                RuleId::ConnectorsDoNotMate,
                RuleId::ConnectorMatedTwice,
            ],
        ),
    ],
    family: Family::Pairs,
    summary: "A signal is wired and never reaches an input.",
    explanation: "A device whose pair stops at a block is read by nobody: its alarm will not come. Follow the pair from the \
                  device to the monitor and write down the jumper that is missing. If it is missing on the frame too, test \
                  the pair for foreign voltage before you touch it.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
wire p1 -> tb pair 2 with 22 awg, 8 m
#          ^^^^^^^^^
spare m1 sensor 2
",
        passing: r"
wire p1 -> tb pair 2
wire tb pair 2 -> m1 sensor 2 with 22 awg, 8 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    if office.unsure.about(Medium::Wire) {
        return;
    }
    let is_told = |circuit: &Circuit| circuit.waits_for_device(inspection) || circuit.is_reported_elsewhere(inspection);
    let stops = |circuit: &Circuit| stops(circuit) && !is_told(circuit);
    for circuit in circuits(inspection).filter(stops) {
        let only_signals = circuit.signals > 1 && circuit.block.is_none();
        let Some((from, (end, range))) = circuit.signal.zip(circuit.far_end(wire)) else {
            continue;
        };
        let (signal, stop) = (wire.terminal(from), wire.terminal(end));
        let name = written(inspection, from);
        let message = if only_signals {
            format!(
                "this wire joins `{name}` with `{}`, and neither reaches an input",
                written(inspection, end)
            )
        } else {
            let none = if signal.port.role == Role::Output {
                "no control"
            } else {
                "no input of a monitor"
            };
            format!("`{name}` gets as far as {} and reaches {none}", called(office, stop))
        };
        let help = if signal.port.role == Role::Output {
            "wire it on to the control that it switches"
        } else {
            "wire it on to an input of a monitor"
        };
        sink.report(signal.thing, range, message)
            .about(circuit.subject(wire))
            .about([Subject::Wires])
            .related(
                office.place(place_of(wire, from)),
                format!("the wire starts at `{name}`"),
            )
            .help(help);
    }
}

/// Whether a circuit has a signal but no input. Circuits that end in a cable are reported by another rule.
fn stops(circuit: &Circuit) -> bool {
    let goes_on = circuit.inputs > 0 || circuit.has_input_elsewhere();
    circuit.signals > 0 && !goes_on && (circuit.block.is_some() || circuit.cable.is_none())
}
