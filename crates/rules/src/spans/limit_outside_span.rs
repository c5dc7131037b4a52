use drysheath_office::Fields;

use super::reading::readings;
use crate::figures::report_said;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LimitOutsideSpan,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Spans,
    summary: "A limit lies where the sensor cannot read.",
    explanation: "A sensor reports nothing beyond the ends of its span, so a limit out there is never reached and its alarm \
                  never comes; wet cable is then the first sign. Bring the limit inside the span, or choose a sensor with a \
                  span that holds it.",
    source: Source::Derived("a reading never leaves the span"),
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low  8 psi major deadband 0.3 psi
    limit high 15.1 psi major deadband 0.3 psi
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low  8 psi major deadband 0.3 psi
    limit high 14.8 psi major deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection) {
        let Some(span) = reading.span() else { continue };
        for (limit, place) in reading.fields.limits() {
            let figure = office.figure(limit.value);
            if span.holds(figure) {
                continue;
            }
            let side = if figure > span.top { "above" } else { "below" };
            let (level, name) = (limit.level.word(), reading.name());
            let message = format!(
                "the {level} limit of {name}, {}, is {side} its span of {span}: this alarm can never come",
                limit.value
            );
            report_said(sink, office, reading.id, place, message)
                .about([reading.field(place)])
                .related(span.place, "the span")
                .help("bring the limit inside the span, or choose a sensor whose span holds it");
        }
    }
}
