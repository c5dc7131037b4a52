use drysheath_office::Terminal;
use drysheath_prediction::signal_paths;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::pairs::{called, place_of};
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::InputSignalUnclear,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Place, &[RuleId::InputWithoutSignal, RuleId::InputAssignedTwice])],
    family: Family::HandOver,
    summary: "An input is wired, but not to exactly one signal.",
    explanation: "There is a record for each input that one signal comes to. Where none comes over the wire of an input, or \
                  several do, the input has no record, and nobody would notice that it is absent. Follow the wire and \
                  write down the device that it comes from.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
# without wire f1
wire tb pair 1 -> m1 sensor 1
#                 ^^^^^^^^^^^
",
        passing: r"
# without wire f1
spare m1 sensor 1
",
    }),
    check: Check::HandOver(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let recorded: Vec<Terminal> = signal_paths(office, inspection.networks)
        .map(|path| path.input)
        .collect();
    let inputs = wire.terminals().filter(|(_, terminal)| terminal.port.role.is_input());
    // An input that its maker wired and that still waits for a device is spare.
    let is_idle = |input: &Terminal| {
        let allocation = inspection.allocation();
        allocation.is_idle(input.thing, input.port, input.number)
    };
    for (id, input) in inputs.filter(|(_, input)| !recorded.contains(input) && !is_idle(input)) {
        let called = called(office, input);
        let message = format!("{called} is wired, but not to exactly one signal, so there is no record of it");
        sink.report(input.thing, place_of(wire, id), message)
            .help("follow the wire, and write down the one device that it comes from");
    }
}
