use drysheath_office::TerminalId;

use super::circuit::{circuit, place_of, written};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::run_around;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SignalWiredTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "One signal leaves its device on two wires.",
    explanation: "A device has one pair of leads for each signal. When it is wired twice in the record, one of the lines was \
                  copied and its device not changed, and some other device is read by nobody. Name the device that the \
                  second wire really comes from, or delete the line.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
wire p1 -> tb pair 2 -> m1 sensor 2 with 22 awg, 8 m
wire p1 -> tb pair 5 -> m1 sensor 4 with 22 awg, 8 m
#    ^^
# without spare tb pair 5
# without spare m1 sensor 4
spare tb pair 6 .. 25
spare m1 sensor 5 .. 8
",
        passing: r"
wire p1 -> tb pair 5
wire tb pair 5 -> m1 sensor 4 with 22 awg, 8 m
# without spare tb pair 5
# without spare m1 sensor 4
spare tb pair 2
spare tb pair 6 .. 25
spare m1 sensor 2
spare m1 sensor 5 .. 8
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let wire = &inspection.networks.wire;
    for (id, terminal) in wire.terminals() {
        if terminal.port.role.begins_circuit() && wire.connections_at(id).len() > 1 {
            report(inspection, id, sink);
        }
    }
}

fn report(inspection: &Inspection<'_>, id: TerminalId, sink: &mut Sink<'_>) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let signal = wire.terminal(id);
    let Some(last) = wire.connections_at(id).last() else {
        return;
    };
    let (first, last) = (place_of(wire, id), last.range_at(id));
    let name = written(inspection, id);
    if first == last {
        sink.report(
            signal.thing,
            last,
            format!("`{name}` is in the middle of a run, and a signal starts there"),
        )
        .help("start the run with the device")
    } else {
        sink.report(signal.thing, last, format!("`{name}` is wired already"))
            .related(
                office.place(first),
                format!("`{name}` is wired by {}", run_around(office, first)),
            )
            .help("name the device that this wire comes from, or delete the line")
    }
    .about([Subject::Terminal(id), circuit(wire, id)]);
}
