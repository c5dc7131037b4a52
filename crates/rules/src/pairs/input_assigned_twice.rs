use drysheath_office::{Terminal, TerminalId};

use super::circuit::{CircuitOf, called, is_crowded, place_of};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::run_around;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::InputAssignedTwice,
    level: Level::Error,
    while_planned: None,
    family: Family::Pairs,
    summary: "One input of a monitor is given to two pairs.",
    explanation: "An input reads one device. With two pairs on it the monitor shows a reading that belongs to neither, \
                  under one name. Give one of them a free input, and tell whoever enters the record in the monitoring \
                  system.",
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
        if terminal.port.role.is_input() && wire.joints_at(id).len() > 1 && !follows(inspection, id, &mut circuits) {
            let last = wire.joints_at(id).last().map(|joint| joint.range_at(id));
            if last != reported {
                report(inspection, id, terminal, sink);
                reported = last;
            }
        }
    }
}

/// Whether the input is assigned twice only because a pair or signal before it is.
fn follows(inspection: &Inspection<'_>, id: TerminalId, circuits: &mut CircuitOf<'_, '_>) -> bool {
    let wire = &inspection.networks.wire;
    let mut others = wire
        .joints_at(id)
        .map(|joint| if joint.from == id { joint.to } else { joint.from });
    let first = others.next();
    let one_pair = others.all(|other| Some(other) == first);
    one_pair && first.is_some_and(|pair| is_crowded(wire, pair)) || circuits.find(id).0.is_one_signal_wired_twice(wire)
}

fn report(inspection: &Inspection<'_>, id: TerminalId, input: &Terminal, sink: &mut Sink<'_>) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let Some(last) = wire.joints_at(id).last() else { return };
    let (first, last) = (place_of(wire, id), last.range_at(id));
    let called = called(office, input);
    if first == last {
        sink.report(
            input.thing,
            last,
            format!("a wire goes on from {called}, where it should end"),
        )
        .help("end the run at the input, and give what follows a run of its own");
    } else {
        sink.report(input.thing, last, format!("{called} is wired already"))
            .related(
                office.place(first),
                format!("{called} is wired by {}", run_around(office, first)),
            )
            .help("give one of the two a free input");
    }
}
