use drysheath_syntax::Medium;

use super::circuit::{called, circuits, place_of, written};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::CablePairStranded,
    level: Level::Error,
    while_planned: Some(Level::Note),
    yields_to: &[
        (
            Scope::Circuit,
            &[
                RuleId::PairAssignedTwice,
                RuleId::InputAssignedTwice,
                RuleId::SignalWiredTwice,
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
    summary: "A pair of a cable is wired and ends nowhere in the office.",
    explanation: "What a cable pair carries is of use only where the pair comes up: on a block or at an input. A pair that is \
                  wired outside and ends nowhere inside leaves its sensor unread. Look up where the cable is terminated. \
                  Outside pairs may carry battery, ringing or lightning voltage: test first, and never in a storm.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
wire ps1 -> c101 pair 37
#           ^^^^^^^^^^^^
spare tb pair 3
spare m1 sensor 3
",
        passing: r"
wire ps1 -> c101 pair 37
wire c101 pair 37 -> tb pair 3 -> m1 sensor 3
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    if office.unsure.about(Medium::Wire) {
        return;
    }
    let mut reported = None;
    for circuit in circuits(inspection) {
        if circuit.is_reported_elsewhere(inspection) {
            continue;
        }
        let Some(cable) = circuit
            .cable
            .filter(|_| circuit.block.is_none() && circuit.inputs == 0 && !circuit.has_input_elsewhere())
        else {
            continue;
        };
        let (end, range) = circuit.far_end(wire).unwrap_or((cable, place_of(wire, cable)));
        let subjects = [Some(Subject::Wires), circuit.subject(wire)].into_iter().flatten();
        if reported.replace(range) == Some(range) {
            sink.and_about(subjects);
            continue;
        }
        let pair = wire.terminal(end);
        let pair_called = called(office, pair);
        match circuit.signal.map(|id| (id, wire.terminal(id).thing)) {
            Some((from, device)) => {
                let name = written(inspection, from);
                let message = format!("{pair_called} brings `{name}` in, and ends at neither a block nor an input");
                sink.report(device, range, message).related(
                    office.place(place_of(wire, from)),
                    format!("the wire starts at `{name}`"),
                )
            }
            None => sink.report(
                pair.thing,
                range,
                format!("{pair_called} is wired, and ends at neither a block nor an input"),
            ),
        }
        .about(subjects)
        .help("say where the pair comes up in the office, and wire it on to an input");
    }
}
