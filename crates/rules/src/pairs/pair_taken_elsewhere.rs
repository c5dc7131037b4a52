use drysheath_office::{End, Office, StatedRange, TerminalId};
use drysheath_syntax::Medium;

use super::circuit::{Circuit, called, circuit, circuits, place_of};
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
                  share a pair. Give one of the two another pair. One of the two offices has the result.",
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
    let all = inspection.networks.merged(office).office;
    let mut reported = None;
    for circuit in circuits(inspection) {
        let Some(elsewhere) = circuit.elsewhere else { continue };
        let what = match () {
            () if circuit.inputs > 0 && elsewhere.inputs > 0 => "an input",
            () if circuit.signals > 0 && elsewhere.signals > 0 && !circuit.are_all_addressed(inspection) => "a device",
            () => continue,
        };
        let other = elsewhere.thing.and_then(|thing| all.office_of(thing));
        let Some(other) = other.filter(|other| office.speaks_before(other)) else {
            continue;
        };
        let Some(pair) = shared_pair(inspection, &circuit) else {
            continue;
        };
        let range = place_of(wire, pair);
        let subjects = circuit.subject(wire);
        if reported.replace(range) == Some(range) {
            sink.and_about(subjects);
            continue;
        }
        let name = name_of(other);
        let pair = wire.terminal(pair);
        let message = format!(
            "{} is also wired in `{name}`, and each office brings {what} of its own",
            called(office, pair)
        );
        sink.report(pair.thing, range, message)
            .about(subjects)
            .related(elsewhere.place, format!("the pair in `{name}`"))
            .help("give one of the two another pair of the route");
    }
    stated_elsewhere(inspection, sink);
    stated_here(inspection, sink);
}

/// Reports wires on pairs that another office declares assigned to others or defective.
fn stated_elsewhere(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let mut reported = None;
    for (id, terminal) in wire.terminals() {
        for (other, thing) in office.elsewhere(terminal.thing) {
            let Some(stated) = other.stated_at(thing, terminal.port, terminal.number) else {
                continue;
            };
            let range = place_of(wire, id);
            let subject = circuit(wire, id);
            let place = other.written(other.place(stated.range));
            if reported.replace((range, place)) == Some((range, place)) {
                sink.and_about([subject]);
                continue;
            }
            let name = name_of(other);
            let message = format!("{} is {} in `{name}`", called(office, terminal), stated.said());
            sink.report(terminal.thing, range, message)
                .about([subject])
                .related(place, format!("what `{name}` says of it"))
                .help("use another pair of the route, or correct what the other office says");
        }
    }
}

/// Reports pairs that this office declares assigned or defective and of which another office states something else. An
/// office that wires them reports that itself, unless it leaves this one out.
fn stated_here(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for own in &office.stated {
        let (Some(thing), Some(port)) = (own.end.thing, own.end.port) else {
            continue;
        };
        for (other, there) in office.elsewhere(thing) {
            let (from, to) = own.end.numbers;
            let is_port = |end: &End| {
                end.thing == Some(there) && end.port.is_some_and(|port_there| std::ptr::eq(port_there, port))
            };
            let is_same = |end: &End| is_port(end) && end.numbers.0 <= to && from <= end.numbers.1;
            let runs = other.runs.iter().filter(|run| run.medium == Medium::Wire);
            let wired = runs
                .flat_map(|run| &run.ends)
                .find(|end| is_same(end))
                .map(|end| end.range);
            let differs =
                |stated: &&StatedRange| is_same(&stated.end) && (stated.state != own.state || stated.text != own.text);
            let stated = other.stated.iter().find(differs).map(|stated| stated.range);
            let name = name_of(other);
            let (range, what) = match (wired, stated) {
                (Some(_), _) if other.counts(office) => continue,
                (Some(range), _) => (range, "wires one of them"),
                (None, Some(range)) if office.speaks_before(other) => (range, "says something else of one of them"),
                _ => continue,
            };
            let message = format!(
                "`{}` is {} here, and `{name}` {what}",
                office.end_name(&own.end),
                own.said()
            );
            sink.report(thing, own.range, message)
                .related(other.written(other.place(range)), format!("the line in `{name}`"))
                .help("a pair of a route is one pair: agree with the other office");
        }
    }
}

fn name_of(office: &Office) -> &str {
    office.itself.map_or("the other office", |id| office.name(id))
}

/// The pair of a shared route in a circuit.
fn shared_pair(inspection: &Inspection<'_>, circuit: &Circuit) -> Option<TerminalId> {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let mut all = wire.joined_with(circuit.any()?);
    all.find(|id| office.shared(wire.terminal(*id).thing).is_some())
}
