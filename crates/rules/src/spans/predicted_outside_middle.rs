use drysheath_engineering::units::Dimension;
use drysheath_office::Fields;
use drysheath_office::kinds::Key;

use super::normal_outside_middle::middle;
use super::reading::{Reading, Span, readings};
use crate::figures::{below, computed, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PredictedOutsideMiddle,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[
        reliability::OF_OFFICE,
        reliability::OF_SYSTEM,
        reliability::OF_SUPPLY,
        (
            Scope::Signal,
            &[RuleId::NormalOutsideMiddle, RuleId::LimitTripsWhenWell],
        ),
    ],
    family: Family::Spans,
    summary: "What a pressure or flow sensor should read lies outside the middle of its span.",
    explanation: "A sensor is chosen so that what it reads on a good day lies in the middle half of its span: near the bottom it \
                  is too coarse, near the top it is pinned before a leak is measured. Here nobody states a normal reading, so the \
                  value that follows from the record is taken. The settings `normal-from` and `normal-to` say which part counts as \
                  the middle. Choose a sensor with another span. A stated normal reading that can be held against the \
                  computed one is judged in its place.",
    source: Source::FromMemory("ASME B40.100, for gauges"),
    example: Some(Example {
        failing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 10 psi
#   ^^^^^^^^^^^^^^^^^
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 3.5 psi minor deadband 0.3 psi
}
",
        passing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 10.1 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 3.5 psi minor deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

/// The span and the bounds of its middle, where the expected figure lies outside them.
fn found(inspection: &Inspection<'_>, reading: &Reading<'_>, expected: f64) -> Option<(Span, f64, f64)> {
    if !matches!(reading.dimension, Dimension::Flow | Dimension::Pressure) {
        return None;
    }
    let span = reading.span().filter(|span| span.holds(expected))?;
    let (least, most) = middle(inspection, &span);
    if !below(expected, least) && !below(most, expected) {
        return None;
    }
    // A normal reading that can be held against the computed one is judged in its place.
    let is_judged = reading.fields.has(Key::Normal) && reading.tolerance().is_some();
    (!is_judged).then_some((span, least, most))
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(office) {
        let Some(expected) = reading.expected(inspection) else {
            continue;
        };
        let Some((span, least, most)) = found(inspection, &reading, expected) else {
            continue;
        };
        let part = if expected > most { "upper" } else { "lower" };
        let shown = |figure| computed(span.ends.1, figure, office);
        let message = format!(
            "{} should read {}{}, in the {part} part of its span of {span}: the middle is {} .. {}",
            reading.name(),
            shown(expected),
            reading.whereabouts(inspection),
            shown(least),
            shown(most)
        );
        report_said(sink, office, reading.id, span.place, message)
            .about(reading.subject_computed(inspection))
            .help(
                "choose a span that has this value in its middle, or correct what is said of the air on its way here",
            );
    }
}
