use drysheath_office::kinds::{Key, Kind, Role};
use drysheath_office::{Fields, Terminal, TerminalId, ThingId};
use drysheath_syntax::PairState;
use drysheath_text::TextRange;

use super::circuit::{Circuit, CircuitOf, called, circuits, is_crowded, place_of, written};
use crate::figures::names;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::run_around;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PairAssignedTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[
        (Scope::Terminal, &[RuleId::SignalWiredTwice]),
        (Scope::Circuit, &[RuleId::OutputNotToControl]),
        (Scope::Ports, &[RuleId::ConnectorMatedTwice]),
    ],
    family: Family::Pairs,
    summary: "One pair is given to two signals.",
    explanation: "A pair carries one signal from end to end. Two signals on it disturb each other, and the monitor reads \
                  neither. Move one of them to a free pair, at every place the pair goes through. Sensors that are \
                  told apart by addresses may share a pair where each has its `address`, and contacts of one healthy state may be \
                  one alarm. A third wire that leads to nothing yet, as during a cut-over, is said by `tapped`.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
wire ps1 -> c101 pair 37 -> tb pair 2 -> m1 sensor 3
#                           ^^^^^^^^^
",
        passing: r"
wire ps1 -> c101 pair 37 -> tb pair 5 -> m1 sensor 3
spare tb pair 3
spare tb pair 6 .. 25
# without spare tb pair 5
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let wire = &inspection.networks.wire;
    let mut reported = None;
    let mut known = CircuitOf::new(inspection);
    for (id, terminal) in wire.terminals() {
        if terminal.port.role == Role::Pair && wire.connections_at(id).len() > 2 && is_crowded(wire, id) {
            let circuit = known.find(id);
            if circuit.shares_a_pair(inspection) || is_tap(inspection, terminal, circuit) {
                continue;
            }
            crowded(inspection, (id, terminal), circuit, &mut reported, sink);
        }
    }
    for circuit in circuits(inspection)
        .filter(|circuit| (circuit.signals > 1 || circuit.inputs > 1) && !circuit.shares_a_pair(inspection))
    {
        meeting(inspection, circuit, sink);
    }
}

/// Whether a third wire on a pair is a declared tap that leads to nothing yet.
fn is_tap(inspection: &Inspection<'_>, pair: &Terminal, circuit: Circuit) -> bool {
    let is_said = inspection.office.wired_at(PairState::Tapped, pair).is_some();
    is_said && circuit.signals <= 1 && circuit.inputs <= 1
}

/// Reports a pair with a third wire. A range of such pairs gives one result.
fn crowded(
    inspection: &Inspection<'_>,
    (id, pair): (TerminalId, &Terminal),
    circuit: Circuit,
    reported: &mut Option<TextRange>,
    sink: &mut Sink<'_>,
) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let Some(last) = wire.connections_at(id).last().map(|joint| joint.range_at(id)) else {
        return;
    };
    let subjects = [
        Some(Subject::Terminal(id)),
        Some(Subject::Ports(pair.thing, pair.port.word)),
        circuit.subject(wire),
        circuit.only_signal(),
    ];
    let subjects = subjects.into_iter().flatten();
    if reported.replace(last) == Some(last) {
        sink.and_about(subjects);
        return;
    }
    let first = place_of(wire, id);
    let pair_called = called(office, pair);
    let (already, help) = if circuit.signals > 1 {
        ("carries another signal", remedy(inspection, circuit))
    } else {
        (
            "leads somewhere else",
            "give one of the two wires a free pair".to_owned(),
        )
    };
    for place in beyond_its_sides(inspection, id, last) {
        let finding = sink.report(pair.thing, place, format!("{pair_called} already {already}"));
        finding.about(subjects.clone()).help(help.clone());
        if first != place {
            finding.related(
                office.place(first),
                format!("{pair_called} is used by {}", run_around(office, first)),
            );
        }
    }
}

/// Advice for two signals on one pair.
fn remedy(inspection: &Inspection<'_>, circuit: Circuit) -> String {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let mut devices: Vec<ThingId> = circuit.signals_of(wire).map(|id| wire.terminal(id).thing).collect();
    devices.sort_unstable();
    devices.dedup();
    let is_sensor = |id: &ThingId| office.thing(*id).kind.is_some_and(Kind::is_sensor);
    let (sensors, others): (Vec<ThingId>, Vec<ThingId>) = devices.into_iter().partition(is_sensor);
    let has_address = |id: &ThingId| office.thing(*id).has(Key::Address);
    let (with, without): (Vec<ThingId>, Vec<ThingId>) = sensors.into_iter().partition(has_address);
    if with.is_empty() {
        let takes_several = circuit.input.is_some_and(|input| {
            let monitor = wire.terminal(input).thing;
            office.thing(monitor).has(Key::Addresses)
        });
        return if takes_several && others.is_empty() {
            "give each of the sensors an `address`, since the input reads several, or one of the two a free pair"
                .to_owned()
        } else if !others.is_empty() && without.is_empty() {
            "give one of the two a free pair; contacts share a pair only where all are closed or all are open while all is well"
                .to_owned()
        } else {
            "give one of the two a free pair".to_owned()
        };
    }
    if !others.is_empty() {
        let others = names(office, &others);
        return format!("give {others} a free pair: only sensors with an `address` share one");
    }
    let (have, without) = (if with.len() == 1 { "has" } else { "have" }, names(office, &without));
    format!(
        "give {without} an `address` of its own, as {} {have}, or a free pair",
        names(office, &with)
    )
}

/// Places where runs name a pair whose two sides are already taken; `last` is the last such place.
fn beyond_its_sides(inspection: &Inspection<'_>, id: TerminalId, last: TextRange) -> Vec<TextRange> {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    // A run that names a pair several times is one mistake.
    let is_of_last = |place: TextRange| {
        let mut runs = office.runs.iter();
        runs.any(|run| run.range.contains(place) && run.range.contains(last))
    };
    let mut others = Vec::new();
    let mut places = Vec::new();
    for joint in wire.connections_at(id) {
        let other = if joint.from == id { joint.to } else { joint.from };
        if others.contains(&other) {
            continue;
        }
        others.push(other);
        let place = joint.range_at(id);
        if others.len() > SIDES && !is_of_last(place) && !places.contains(&place) {
            places.push(place);
        }
    }
    places.push(last);
    places
}

/// A pair has two sides.
const SIDES: usize = 2;

/// Reports two signals, or two inputs, at the two ends of an unbranched circuit.
fn meeting(inspection: &Inspection<'_>, circuit: Circuit, sink: &mut Sink<'_>) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let end = if circuit.signals > 1 {
        circuit.signal
    } else {
        circuit.input
    };
    let Some((end, joint)) = end.and_then(|end| Some((end, wire.connections_at(end).next()?))) else {
        return;
    };
    let id = if joint.from == end { joint.to } else { joint.from };
    let pair = wire.terminal(id);
    if pair.port.role != Role::Pair || circuit.forks(wire) {
        return;
    }
    let other = wire.joined_with(id).find(|other| {
        let ends = |role: Role| role.begins_circuit() == (circuit.signals > 1) && role != Role::Pair;
        *other != end && ends(wire.terminal(*other).port.role)
    });
    let Some(other) = other else { return };
    let (does, help) = if circuit.signals > 1 {
        ("carries", remedy(inspection, circuit))
    } else {
        ("leads to", "give one of the two a free pair".to_owned())
    };
    let (pair_called, device) = (called(office, pair), written(inspection, other));
    let message = format!("{pair_called} already {does} `{device}`");
    sink.report(pair.thing, joint.range_at(id), message)
        .about(circuit.subject(wire))
        .related(office.place(place_of(wire, other)), format!("the wire of `{device}`"))
        .help(help);
}
