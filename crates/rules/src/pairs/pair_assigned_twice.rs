use drysheath_office::kinds::Role;
use drysheath_office::{Terminal, TerminalId};

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(super) static RULE: Rule = Rule {
    name: "pair-assigned-twice",
    level: Level::Error,
    while_planned: None,
    family: Family::Pairs,
    summary: "One pair is given to two signals.",
    explanation: "A pair carries one signal from end to end. Two signals on it disturb each other, and the monitor reads \
                  neither. Move one of them to a free pair, at every place the pair goes through.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
wire ps1 -> c101 pair 37 -> tb pair 2 -> m1 sensor 3
#                           ^^^^^^^^^
spare tb pair 3
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
    let pairs = wire
        .terminals()
        .filter(|(_, terminal)| terminal.port.role == Role::Pair);
    for (id, terminal) in pairs {
        report(inspection, id, terminal, sink);
    }
}

fn report(inspection: &Inspection<'_>, id: TerminalId, pair: &Terminal, sink: &mut Sink<'_>) {
    let office = inspection.office;
    // A pair has two sides: one wire towards the device, one towards the monitor.
    let joints = inspection.networks.wire.joints_at(id);
    if joints.len() <= 2 {
        return;
    }
    let mut runs: Vec<_> = joints.map(|joint| (joint.run, joint.range_at(id))).collect();
    runs.dedup_by_key(|(run, _)| *run);
    let [(_, first), .., (_, last)] = runs.as_slice() else {
        return;
    };
    let name = office.name(pair.thing);
    sink.report(
        pair.thing,
        *last,
        format!("pair {} of `{name}` already carries another signal", pair.number),
    )
    .related(office.place(*first), "assigned here first")
    .help("give one of the two a free pair");
}
