use drysheath_office::Fields;

use super::reading::readings;
use crate::figures::report_said;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LimitWithoutDeadband,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Spans,
    summary: "A limit has no deadband.",
    explanation: "A reading that stays at its limit goes above and below it with every change of temperature. Without a deadband \
                  the alarm is raised and cleared each time, all night, until somebody turns it off. Give the limit a deadband of at \
                  least two steps of the sensor, and small enough that the normal reading clears the alarm.",
    source: Source::FromMemory("ISA-18.2, which calls for a deadband"),
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 8 psi major
#   ^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 8 psi major deadband 0.2 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection) {
        for (limit, place) in reading.fields.limits().filter(|(limit, _)| limit.deadband.is_none()) {
            let message = format!(
                "the {} limit of {}, {}, has no deadband: a reading that stays near it raises and clears the alarm again and again",
                limit.level.word(),
                reading.name(),
                limit.value
            );
            report_said(sink, office, reading.id, place, message)
                .help(if reading.is_switch {
                    "add `deadband` and what the switch has to come back by after the severity: its sheet calls that the differential"
                } else {
                    "add `deadband` and at least two steps of the sensor after the severity"
                });
        }
    }
}
