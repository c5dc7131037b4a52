use drysheath_office::Fields;

use super::readings;
use crate::figures::report_said;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SwitchLimitTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Spans,
    summary: "A switch states more than one limit.",
    explanation: "A contact changes once, and its input cannot tell at which of two pressures. A second pressure needs a second \
                  switch with a pair and an input of its own, or a sensor.",
    source: Source::Derived("a contact has two states"),
    example: Some(Example {
        failing: r"
pressure-switch sw1 {
    healthy closed
    at      c101 1.2 km
    limit   low 6.5 psi minor deadband 0.5 psi
    limit   low-low 5.5 psi major deadband 0.5 psi
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
wire sw1 -> c101 pair 36 -> tb pair 5 -> m1 contact 2
# without spare tb
# without spare c101 pair 1
# without spare m1 contact
spare tb pair 6 .. 25
spare c101 pair 1 .. 35
spare m1 contact 3 .. 4
",
        passing: r"
pressure-switch sw1 {
    healthy closed
    at      c101 1.2 km
    limit   low 6.5 psi minor deadband 0.5 psi
}
wire sw1 -> c101 pair 36 -> tb pair 5 -> m1 contact 2
# without spare tb
# without spare c101 pair 1
# without spare m1 contact
spare tb pair 6 .. 25
spare c101 pair 1 .. 35
spare m1 contact 3 .. 4
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for reading in readings(inspection).filter(|reading| reading.is_switch) {
        let mut limits = reading.fields.limits();
        let Some((first, first_place)) = limits.next() else {
            continue;
        };
        let Some((second, place)) = limits.next() else { continue };
        let message = format!(
            "{} is one contact, and its input cannot tell {} from {}",
            reading.name(),
            first.value,
            second.value
        );
        report_said(sink, inspection.office, reading.id, place, message)
            .related(first_place, "the other limit")
            .help("keep one of them, or add a switch or a sensor for the other");
    }
}
