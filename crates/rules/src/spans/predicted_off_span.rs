use drysheath_engineering::units::Dimension;

use super::reading::{Reading, Span, readings};
use crate::coverage::MissingFigure;
use crate::figures::report_said;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::reliability;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PredictedOffSpan,
    level: Level::Error,
    while_planned: None,
    yields_to: &[reliability::OF_OFFICE, reliability::OF_SYSTEM, reliability::OF_SUPPLY],
    family: Family::Spans,
    summary: "What a sensor should read lies outside its span.",
    explanation: "A reading stops at the end of the span. Where the value that follows from the record lies beyond it, the sensor shows \
                  its end on every good day and shows no change on a bad one. Choose a sensor whose span has the computed value in \
                  its middle. If the computed value is not believed, correct what it comes from: usage, resistance, bore and length, the \
                  regulator's set pressure, the dryer's dew point. Air that is drier than the bottom of a dew-point or humidity span is as \
                  it should be: its sensor has to tell wet air, so that only the top counts.",
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
    limit low 6.7 psi minor deadband 0.3 psi
}
",
        passing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  -7.5 .. 12.6 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 6.7 psi minor deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

/// Whether a sensor is there to detect wet air, so that it need not show how dry the air is.
fn tells_wet_air(reading: &Reading<'_>) -> bool {
    matches!(reading.dimension, Dimension::Humidity | Dimension::Temperature)
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection) {
        let Ok((span, expected)) = compared(inspection, &reading) else {
            continue;
        };
        if span.holds(expected) {
            continue;
        }
        let is_above = expected > span.top;
        if !is_above && tells_wet_air(&reading) {
            continue;
        }
        let (side, end) = if is_above {
            ("above", span.ends.1)
        } else {
            ("below", span.ends.0)
        };
        let message = format!(
            "{} should read {}{}, {side} its span of {span}: it would show {end} whatever happens",
            reading.name(),
            reading.shown(end, expected),
            reading.location_text(inspection)
        );
        report_said(sink, office, reading.id, span.place, message)
            .about(reading.subject_computed(inspection))
            .help("choose a sensor whose span has this value in its middle, or correct what is declared of the air on its way there");
    }
}

/// Span of a signal, and its expected reading.
pub(crate) fn compared(inspection: &Inspection<'_>, reading: &Reading<'_>) -> Result<(Span, f64), MissingFigure> {
    let span = reading.span().ok_or(MissingFigure::Span)?;
    Ok((span, reading.expected(inspection).ok_or(MissingFigure::Figure)?))
}
