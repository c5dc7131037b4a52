use drysheath_office::kinds::KindId;
use drysheath_office::line::position_of;
use drysheath_office::{TerminalId, ThingId};
use drysheath_syntax::Medium;

use super::circuit::{Circuit, circuits, place_of, written};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PairNotAtDevice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "A device on a cable is wired by a pair that does not pass it.",
    explanation: "A device out on a cable comes in by a pair of that cable, or by pairs of a cable that it is joined to end to end. \
                  Where the record says otherwise, either the place of the device or the pair is wrong: whoever \
                  looks for the device, or for the fault of its pair, looks along the wrong street. A wire that names no pair of \
                  a cable is left alone.",
    source: Source::Derived("a pair is where its cable is"),
    example: Some(Example {
        failing: r"
cable c102 { pairs 25, gauge 24 awg, rating 20 psi, section s1 { aerial 0.3 km, resistance 0.1 psi/scfh/kft, usage 0 scfh } }
air mf port 3 -> c102 with 3/8 in tube, 1/4 in bore, 3 m
pressure-sensor ps2 {
    at    c102 0.3 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 8 psi minor deadband 0.3 psi
}
wire ps2 -> c101 pair 38 -> tb pair 5 -> m1 sensor 4
#           ^^^^^^^^^^^^
# without spare mf
spare mf port 4
# without spare tb pair 5
spare tb pair 6 .. 25
# without spare c101 pair 38
spare c101 pair 39 .. 50
# without spare m1 sensor 4
spare m1 sensor 5 .. 8
",
        passing: r"
cable c102 { pairs 25, gauge 24 awg, rating 20 psi, section s1 { aerial 0.3 km, resistance 0.1 psi/scfh/kft, usage 0 scfh } }
air mf port 3 -> c102 with 3/8 in tube, 1/4 in bore, 3 m
pressure-sensor ps2 {
    at    c102 0.3 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 8 psi minor deadband 0.3 psi
}
wire ps2 -> c102 pair 1 -> tb pair 5 -> m1 sensor 4
spare c102 pair 2 .. 25
# without spare mf
spare mf port 4
# without spare tb pair 5
spare tb pair 6 .. 25
# without spare m1 sensor 4
spare m1 sensor 5 .. 8
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.unsure.about(Medium::Wire) {
        return;
    }
    let wire = &inspection.networks.wire;
    for circuit in circuits(inspection).filter(|circuit| circuit.signals == 1) {
        let Some(signal) = circuit.signal else { continue };
        let device = wire.terminal(signal).thing;
        let Some(at) = position_of(office, inspection.networks, device) else {
            continue;
        };
        if office.thing(device).damaged || !office.thing(at.host).is(KindId::Cable) {
            continue;
        }
        let mut cables = wire
            .joined_with(signal)
            .filter(|id| office.thing(wire.terminal(*id).thing).is(KindId::Cable))
            .peekable();
        if let Some(first) = cables.peek().copied()
            && !cables.any(|id| is_joined(inspection, wire.terminal(id).thing, at.host))
        {
            elsewhere(inspection, &circuit, (signal, first), at.host, sink);
        }
    }
}

/// Whether two cables are the same, or joined end to end so that pairs may continue.
fn is_joined(inspection: &Inspection<'_>, cable: ThingId, other: ThingId) -> bool {
    let air = &inspection.networks.air;
    let leads_to = |from, to| air.leaving(from).any(|link| link.to.thing == to);
    cable == other || leads_to(cable, other) || leads_to(other, cable)
}

fn elsewhere(
    inspection: &Inspection<'_>,
    circuit: &Circuit,
    (signal, first): (TerminalId, TerminalId),
    host: ThingId,
    sink: &mut Sink<'_>,
) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let device = wire.terminal(signal).thing;
    let (own, other) = (office.name(host), office.name(wire.terminal(first).thing));
    let message = format!(
        "`{}` is on `{own}`, and this pair is in `{other}`, which does not pass it",
        written(inspection, signal)
    );
    let finding = sink.report(device, place_of(wire, first), message);
    finding.about(circuit.subject(wire));
    if let Some(at) = office.host(device) {
        finding.related(
            office.place(at.name),
            format!("`{}` is on `{own}`", office.name(device)),
        );
    }
    finding.help(format!("wire it by a pair of `{own}`, or correct where it is"));
}
