use drysheath_office::kinds::HealthyState;

use super::circuit::{called, circuits, place_of, written};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ContactsShareInput,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "Contacts share an input of a monitor, which cannot tell them apart.",
    explanation: "Contacts are sometimes made one common alarm: in series where they are closed while all is well, in parallel \
                  where they are open. The monitor then tells that something is wrong and not what, and of several devices not \
                  even where, so that somebody looks at each. Where it is done on purpose, accept this with that reason. Otherwise \
                  a line was copied and its pair or input not changed: give each contact a pair and an input of its own. \
                  Contacts of several devices whose healthy states differ or are not stated cannot be one alarm, and are errors.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
dryer d1 {
    compressor      piston
    delivers        30 psi
    capacity        100 scfh
    dew-point       -40 degC
    contact         humidity        { healthy closed }
    contact         power           { healthy closed }
}
wire d1 contact humidity -> tb pair 4 -> m1 contact 1
wire d1 contact power -> tb pair 4
#    ^^^^^^^^^^^^^^^^
",
        passing: r"
dryer d1 {
    compressor      piston
    delivers        30 psi
    capacity        100 scfh
    dew-point       -40 degC
    contact         humidity        { healthy closed }
    contact         power           { healthy closed }
}
wire d1 contact humidity -> tb pair 4 -> m1 contact 1
wire d1 contact power -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
spare tb pair 6 .. 25
# without spare m1 contact
spare m1 contact 3 .. 4
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    for circuit in circuits(inspection).filter(|circuit| circuit.is_common_alarm(office, wire)) {
        let Some((signal, input)) = circuit.signal.zip(circuit.input) else {
            continue;
        };
        let input_called = called(office, wire.terminal(input));
        let device = wire.terminal(signal).thing;
        let message = if circuit.signals_of(wire).all(|id| wire.terminal(id).thing == device) {
            format!(
                "{input_called} has {} contacts of `{}`, and cannot tell them apart",
                circuit.signals,
                office.name(device)
            )
        } else {
            let how = match circuit.healthy_state(office, wire) {
                Some(HealthyState::Closed) => "in series",
                _ => "in parallel",
            };
            format!(
                "{input_called} has {} contacts of several devices {how}: its alarm does not tell which of them to go to",
                circuit.signals
            )
        };
        let finding = sink.report(wire.terminal(signal).thing, place_of(wire, signal), message);
        finding.about(circuit.subject(wire));
        finding.or_on = circuit
            .signals_of(wire)
            .map(|other| wire.terminal(other).thing)
            .collect();
        let others = circuit.signals_of(wire).filter(|other| *other != signal);
        for other in others {
            let says = format!("`{}` comes to it as well", written(inspection, other));
            finding.related(office.place(place_of(wire, other)), says);
        }
        finding.help("give each a pair and an input of its own; where they are one alarm on purpose, accept this with that reason");
    }
}
