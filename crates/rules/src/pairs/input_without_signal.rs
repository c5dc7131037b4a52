use drysheath_office::kinds::Role;
use drysheath_syntax::Medium;

use super::circuit::{called, circuits, place_of};
use super::unwired::unwired;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::InputWithoutSignal,
    level: Level::Error,
    while_planned: Some(Level::Note),
    yields_to: &[
        (
            Scope::Office,
            &[RuleId::DeviceWithoutPair, RuleId::DeadEnd, RuleId::CablePairStranded],
        ),
        (
            Scope::Wires,
            &[
                RuleId::RangeLengthsDiffer,
                RuleId::ConnectorsDoNotMate,
                RuleId::ConnectorMatedTwice,
            ],
        ),
        (
            Scope::Circuit,
            &[
                RuleId::PairAssignedTwice,
                RuleId::InputAssignedTwice,
                RuleId::OutputNotToControl,
            ],
        ),
    ],
    family: Family::Pairs,
    summary: "An input is wired to pairs that lead to no device.",
    explanation: "An input with a pair and no device reads whatever the pair picks up, or alarms for ever. Either the device \
                  is missing from the record, or the jumper was left when it was taken away. Name the device at the \
                  beginning of the wire, or take the wire out and say that its pairs are spare. An input that its maker wired to a \
                  connector may wait for its device there, and is spare until then.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
wire tb pair 5 -> m1 sensor 4
#                 ^^^^^^^^^^^
# without spare tb pair 5
# without spare m1 sensor 4
spare tb pair 6 .. 25
spare m1 sensor 5 .. 8
",
        passing: r"
wire c101 pair 38 -> tb pair 5
# without spare tb pair 5
# without spare c101 pair 38
spare tb pair 5 .. 25
spare c101 pair 38 .. 50
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let silent = |circuit: &super::circuit::Circuit| {
        let elsewhere = circuit.has_signal_elsewhere();
        let is_told = elsewhere || circuit.is_reported_elsewhere(inspection);
        circuit.inputs > 0 && circuit.signals == 0 && !is_told && !circuit.waits_for_device(inspection)
    };
    if office.unsure.about(Medium::Wire) || !circuits(inspection).any(|circuit| silent(&circuit)) {
        return;
    }
    // Each device that is not wired to an input may be the one that is missing here.
    let stopped = circuits(inspection)
        .filter(|circuit| circuit.signals > 0 && circuit.inputs == 0)
        .count();
    let count = circuits(inspection).filter(silent).count();
    let is_explained = count <= stopped + unwired(inspection).count();
    let mut reported = None;
    for circuit in circuits(inspection).filter(silent) {
        let Some(id) = circuit.input else { continue };
        let input = wire.terminal(id);
        let range = place_of(wire, id);
        let wires = is_explained.then_some(Subject::Office);
        let subjects = [Some(Subject::Wires), wires, circuit.subject(wire)]
            .into_iter()
            .flatten();
        if reported.replace(range) == Some(range) {
            sink.and_about(subjects);
            continue;
        }
        let (what, start) = if input.port.role == Role::Control {
            ("output", "an output of the monitor")
        } else {
            ("device", "the device")
        };
        sink.report(
            input.thing,
            range,
            format!("no {what} is wired to {}", called(office, input)),
        )
        .about(subjects)
        .help(format!(
            "start the wire with {start}, or take it out and say that its pairs are spare"
        ));
    }
}
