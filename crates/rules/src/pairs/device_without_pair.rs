use drysheath_office::kinds::Role;
use drysheath_syntax::Medium;

use super::unwired::{Unwired, unwired};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DeviceWithoutPair,
    level: Level::Error,
    while_planned: Some(Level::Note),
    yields_to: &[(Scope::Office, &[RuleId::SignalWiredTwice])],
    family: Family::Pairs,
    summary: "A sensor, contact or control has no pair.",
    explanation: "A sensor that is not wired, or a contact of a dryer that nobody brought out, raises no alarm however well \
                  its limits are set, and a control that is not wired to an output can only be switched by hand. Wire it to the monitor, or take \
                  it out of the record if it is not there. \
                  A sensor without any limit, such as a dial gauge, is left to `sensor-raises-no-alarm`.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
# without wire p1
pressure-sensor p1 {
#               ^^
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 8 psi major deadband 0.3 psi
}
spare tb pair 2
spare m1 sensor 2
",
        passing: r"
# without wire p1
wire p1 -> m1 sensor 2
spare tb pair 2
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.unsure.about_spares(Medium::Wire) {
        return;
    }
    let mut lacking = unwired(inspection).peekable();
    if lacking.peek().is_none() {
        return;
    }
    // Each surplus wire on a signal was probably meant for a device without one.
    let is_explained = unwired(inspection).count() <= surplus(inspection);
    for Unwired {
        thing: id,
        port,
        contact,
        only,
    } in lacking
    {
        let thing = office.thing(id);
        let Some(kind) = thing.kind else { continue };
        let (word, name) = (kind.word(), office.name(id));
        let (range, written, what) = match contact {
            Some((contact, place)) => {
                let range = if place.file == office.file {
                    place.range
                } else {
                    thing.name
                };
                let written = format!("{name} {} {contact}", port.word);
                (range, written, format!("{} `{contact}` of {word} `{name}`", port.word))
            }
            None if only => (thing.name, name.to_owned(), format!("{word} `{name}`")),
            None => {
                let written = format!("{name} {}", port.word);
                (thing.name, written, format!("{} signal of {word} `{name}`", port.word))
            }
        };
        let is_control = port.role == Role::Control;
        let leaves = if is_control { "leads to" } else { "leaves" };
        sink.report(id, range, format!("no wire {leaves} the {what}"))
            .about(is_explained.then_some(Subject::Office))
            .help(if is_control {
                format!("wire an output of a monitor to it, or say that it is not used here: `spare {written}`")
            } else if contact.is_some() {
                format!("wire it to an input of a monitor, or say that it is not used here: `spare {written}`")
            } else {
                format!("wire it through its pairs to an input of a monitor: `wire {written} -> … -> …`")
            });
    }
}

/// Number of surplus wires on signals.
fn surplus(inspection: &Inspection<'_>) -> usize {
    let wire = &inspection.networks.wire;
    let signals = wire
        .terminals()
        .filter(|(_, terminal)| matches!(terminal.port.role, Role::Signal(_)));
    signals
        .map(|(id, _)| wire.connections_at(id).len().saturating_sub(1))
        .sum()
}
