use drysheath_office::{Fields, TerminalId};
use drysheath_office::kinds::Key;
use drysheath_syntax::Medium;

use super::circuit::{Circuit, called, circuits, place_of};
use super::elsewhere::Elsewhere;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PairTakenElsewhere,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "A pair of a route is wired in both of its offices, each with a device or an input of its own.",
    explanation: "A pair of a cable between two offices is one pair, whoever terminates it. It carries one signal to one input: the \
                  device in one office and the input in the other, or both in one of the two. Where both offices bring a device, \
                  or both bring an input, the two disturb each other, and neither office shows why. Sensors with addresses may \
                  share a pair. Give one of the two another pair.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
# file routes/leased
route leased { from offices/oak, to offices/forkwater }
lead lp { pairs 2, loop 900 ohm }
# file offices/oak
use routes/leased
office oak { title "Oak", elevation 90 m, stage planned }
block tb { pairs 2 }
contact door { healthy closed }
wire door -> tb pair 1 -> lp pair 1
#                         ^^^^^^^^^
spare tb pair rest
spare lp pair rest
# file offices/forkwater
use routes/leased
office forkwater { title "Forkwater", elevation 100 m, stage planned }
block tb { pairs 2 }
contact mains { healthy closed }
wire mains -> tb pair 1 -> lp pair 1
#                          ^^^^^^^^^
spare tb pair rest
spare lp pair rest
"#,
        passing: r#"
# file routes/leased
route leased { from offices/oak, to offices/forkwater }
lead lp { pairs 2, loop 900 ohm }
# file offices/oak
use routes/leased
office oak { title "Oak", elevation 90 m, stage planned }
block tb { pairs 2 }
contact door { healthy closed }
wire door -> tb pair 1 -> lp pair 1
spare tb pair rest
spare lp pair rest
# file offices/forkwater
use routes/leased
office forkwater { title "Forkwater", elevation 100 m, stage planned }
ground-bar ogb { principal yes }
monitor m1 { sensors 8, contacts 4, loop-max 4000 ohm, supply mains }
ground m1 frame -> ogb with 6 awg, 3 m
wire lp pair 1 -> m1 contact 1
spare lp pair rest
spare m1 contact rest
spare m1 sensor rest
"#,
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    if office.neighbours.is_empty() || office.unsure.about(Medium::Wire) {
        return;
    }
    let mut reported = None;
    for circuit in circuits(inspection) {
        let Some(elsewhere) = circuit.elsewhere else { continue };
        let what = match () {
            () if circuit.inputs > 0 && elsewhere.inputs > 0 => "an input",
            () if circuit.signals > 0 && elsewhere.signals > 0 && !are_addressed(inspection, &circuit, elsewhere) => {
                "a device"
            }
            () => continue,
        };
        let Some(pair) = shared_pair(inspection, &circuit) else { continue };
        let range = place_of(wire, pair);
        let subjects = circuit.subject(wire);
        if reported.replace(range) == Some(range) {
            sink.and_about(subjects);
            continue;
        }
        let other = office.neighbours.get(elsewhere.neighbour);
        let name = other.and_then(|other| Some(other.name(other.itself?))).unwrap_or("the other office");
        let pair = wire.terminal(pair);
        let message = format!(
            "{} is also wired in `{name}`, and each office brings {what} of its own",
            called(office, pair)
        );
        sink.report(pair.thing, range, message)
            .about(subjects)
            .help("give one of the two another pair of the route");
    }
}

/// Whether all devices of both offices have addresses.
fn are_addressed(inspection: &Inspection<'_>, circuit: &Circuit, elsewhere: Elsewhere) -> bool {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let mut own = circuit.signals_of(wire).map(|id| office.thing(wire.terminal(id).thing));
    elsewhere.addressed == elsewhere.signals && own.all(|device| device.has(Key::Address))
}

/// The pair of a route in a circuit.
fn shared_pair(inspection: &Inspection<'_>, circuit: &Circuit) -> Option<TerminalId> {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let mut all = wire.joined_with(circuit.any()?);
    all.find(|id| office.shared(wire.terminal(*id).thing).is_some())
}
