use drysheath_office::{NumberRange, Office, TerminalId};

use super::circuit::CircuitOf;
use super::numbers::numbered;
use super::signal_on_wrong_input::is_wrong_for;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::run_around;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SpareInUse,
    level: Level::Error,
    while_planned: None,
    family: Family::Pairs,
    summary: "Something that is said to be spare is used.",
    explanation: "Whoever needs a pair, an input, a fuse position or a port takes one that the record calls spare. If it is in \
                  use, the next order lands on top of a working line. Shorten what is said to be spare, or correct the \
                  number in the run.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
# without spare tb pair 5
spare tb pair 4 .. 25
#        ^^^^^^^^^^^^
",
        passing: r"
# without spare tb pair 5
spare tb pair 5 .. 24
spare tb pair 25
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.spares.is_empty() {
        return;
    }
    let allocation = inspection.allocation();
    let mut circuits = CircuitOf::new(inspection);
    for said in allocation.all_spare() {
        let mut taken = allocation
            .used_within(said)
            .iter()
            .filter(|own| !follows_from_other_result(inspection, own, &mut circuits));
        if let Some(first) = taken.next() {
            // A pair counts once, whichever of its sides a run names.
            let last = taken.next_back().unwrap_or(first);
            report(office, said, first, last, sink);
        }
    }
}

fn report(office: &Office, said: &NumberRange, first: &NumberRange, last: &NumberRange, sink: &mut Sink<'_>) {
    let (noun, name) = (said.port.noun(), office.name(said.thing));
    let message = if first.from == last.from {
        format!("{noun} {} of `{name}` is said to be spare, and is used", first.from)
    } else {
        let range = numbered(noun, first.from, last.from);
        format!("{range} of `{name}` are said to be spare, and some of them are used")
    };
    sink.report(said.thing, said.range, message)
        .related(
            office.place(first.range),
            format!("used by {}", run_around(office, first.range)),
        )
        .help("leave out of the spares what is used, or correct the number in the run");
}

/// Whether a pair or input is in use only because two circuits meet there, or because a signal of the wrong type ends on
/// the input. Another rule reports that.
fn follows_from_other_result(
    inspection: &Inspection<'_>,
    used: &NumberRange,
    circuits: &mut CircuitOf<'_, '_>,
) -> bool {
    let wire = &inspection.networks.wire;
    let Some(id) = wire.find(used.thing, used.port, used.from) else {
        return false;
    };
    let (circuit, is_tangled) = circuits.find(id);
    let terminal = |id: Option<TerminalId>| id.map(|id| wire.terminal(id));
    let ends = terminal(circuit.signal).zip(terminal(circuit.input));
    let is_wrong = used.port.role.is_input() && ends.is_some_and(|(signal, input)| is_wrong_for(signal, input));
    is_wrong || is_tangled
}
