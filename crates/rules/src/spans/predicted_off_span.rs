use super::normal_outside_middle;
use super::reading::{Reading, readings};
use crate::figures::{computed, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::reliability::is_unreliable;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PredictedOffSpan,
    level: Level::Error,
    while_planned: None,
    family: Family::Spans,
    summary: "What a sensor should read lies outside its span.",
    explanation: "A reading stops at the end of the span. Where the value that follows from the record lies beyond it, the sensor shows \
                  its end on every good day and tells nothing on a bad one. Choose a sensor whose span has the computed value in \
                  its middle. If the computed value is not believed, correct what it comes from: usage, resistance, bore and length, the \
                  regulator's set pressure, the dryer's dew point. Where the stated normal reading is off the same way, that is \
                  reported instead.",
    source: Source::Derived("a reading never leaves the span; what it should be follows from the air network"),
    example: Some(Example {
        failing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 7.5 psi
#   ^^^^^^^^^^^^^^^^^^
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 3.5 psi minor deadband 0.3 psi
}
",
        passing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  -7.5 .. 12.6 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 3.5 psi minor deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

/// Whether the expected figure lies outside the sensor's span.
pub(super) fn is_off_span(reading: &Reading<'_>, expected: f64) -> bool {
    reading.span().is_some_and(|span| !span.holds(expected))
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(office) {
        let Some(span) = reading.span() else { continue };
        let Some(expected) = reading.expected(inspection).filter(|figure| !span.holds(*figure)) else {
            continue;
        };
        let is_above = expected > span.top;
        let normal = normal_outside_middle::found(inspection, &reading);
        if normal.is_some_and(|normal| normal.is_above == is_above) || is_unreliable(inspection, reading.id) {
            continue;
        }
        let (side, end) = if is_above {
            ("above", span.ends.1)
        } else {
            ("below", span.ends.0)
        };
        let message = format!(
            "{} should read {}{}, {side} its span of {span}: it would stand at {end} whatever happens",
            reading.name(),
            computed(end, expected, office),
            reading.whereabouts(inspection)
        );
        report_said(sink, office, reading.id, span.place, message)
            .help("choose a sensor whose span has this value in its middle, or correct what is said of the air on its way here");
    }
}
