use drysheath_engineering::units::Dimension;
use drysheath_office::Fields;
use drysheath_office::kinds::Key;

use super::normal_outside_middle::{middle, unsuited};
use super::reading::{Reading, Span, readings};
use crate::figures::{below, report_said};
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
    summary: "What a pressure or flow sensor should read does not suit its span.",
    explanation: "A pressure sensor is chosen so that what it reads on a good day lies in the middle half of its span, between the \
                  settings `normal-from` and `normal-to`; a flow sensor so that its reading is more than its error and a step, and \
                  that it still reads on with a leak of the setting `leak-size` downstream. Where no normal reading is stated, \
                  the value that follows from the record is taken. Choose a sensor with another span. A stated normal reading that \
                  can be compared with the computed one is judged in its place.",
    source: Source::FromMemory("ASME B40.100, for gauges; the leak worth a visit is common practice"),
    example: Some(Example {
        failing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 10 psi
#   ^^^^^^^^^^^^^^^^^
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 6.7 psi minor deadband 0.3 psi
}
",
        passing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 10.1 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 6.7 psi minor deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

/// The span, if it does not suit the expected reading.
fn found(inspection: &Inspection<'_>, reading: &Reading<'_>, expected: f64) -> Option<Span> {
    if !matches!(reading.dimension, Dimension::Flow | Dimension::Pressure) {
        return None;
    }
    let span = reading.span().filter(|span| span.holds(expected))?;
    let (least, most) = middle(inspection, reading, &span);
    if !below(expected, least) && !below(most, expected) {
        return None;
    }
    // A normal reading that can be compared with the computed one is judged instead.
    let is_judged = reading.fields.has(Key::Normal) && reading.tolerance().is_some();
    (!is_judged).then_some(span)
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection) {
        let Some(expected) = reading.expected(inspection) else {
            continue;
        };
        let Some(span) = found(inspection, &reading, expected) else {
            continue;
        };
        let message = format!(
            "{} should read {}{}, {}",
            reading.name(),
            reading.shown(span.ends.1, expected),
            reading.location_text(inspection),
            unsuited(inspection, &reading, &span, (expected, span.ends.1))
        );
        report_said(sink, office, reading.id, span.place, message)
            .about(reading.subject_computed(inspection))
            .help(
                "choose a sensor whose span suits this value, or correct what is declared of the air on its way there",
            );
    }
}
