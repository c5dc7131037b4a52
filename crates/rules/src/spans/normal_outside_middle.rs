use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::Fields;
use drysheath_office::kinds::Key;
use drysheath_text::Place;

use super::reading::{Reading, Span, readings};
use crate::figures::{below, in_unit_of, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::settings::PracticeKey;

/// Significant digits of computed figures.
const DIGITS: i32 = 4;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::NormalOutsideMiddle,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Signal, &[RuleId::LimitsOutOfOrder, RuleId::PredictedOffSpan])],
    family: Family::Spans,
    summary: "The normal reading does not suit the span.",
    explanation: "A pressure sensor is chosen so that what it reads on a good day lies in the middle half of its span: near the bottom it is too coarse, and near the top there is no room above. The settings `normal-from` and \
                  `normal-to` say which part counts as the middle. A flow sensor has to have room above: with a leak of the \
                  setting `leak-size` downstream, it should still read on, and not show the top of its span. Below, it is enough that \
                  its reading is more than its error and a step, so that it can be told from no flow. Humidity and dew point are \
                  left out: dry air belongs at the bottom of their spans.",
    source: Source::FromMemory("ASME B40.100, for gauges; the leak worth a visit is common practice"),
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
    span  0 .. 13.3 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
#   ^^^^^^^^^^^^^
    proof 30 psi
    limit low 8 psi major deadband 0.3 psi
}
",
        passing: r"
pressure-sensor p1 {
    span  0 .. 13.4 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 8 psi major deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

/// A normal reading outside the middle of its span.
struct Outside {
    normal: Quantity,
    place: Place,
    span: Span,
}

/// Bounds of a reading within a span: the middle for a pressure; for a flow, distinguishable from zero and with room
/// for a leak.
pub(super) fn middle(inspection: &Inspection<'_>, reading: &Reading<'_>, span: &Span) -> (f64, f64) {
    if reading.dimension == Dimension::Flow {
        let size = |key| reading.size(key).map_or(0.0, |(size, _)| size);
        let leak = leak_size(inspection).map_or(0.0, Quantity::si);
        return (span.bottom + size(Key::Error) + size(Key::Step), span.top - leak);
    }
    let part = |key| span.bottom + inspection.settings.fraction(key) * (span.top - span.bottom);
    (part(PracticeKey::NormalFrom), part(PracticeKey::NormalTo))
}

fn leak_size(inspection: &Inspection<'_>) -> Option<Quantity> {
    inspection.settings.quantity(PracticeKey::LeakSize)
}

/// Why a reading does not suit its span, to follow its figure: "in the upper part of its span of 0 .. 15 psi: …".
pub(super) fn unsuited(
    inspection: &Inspection<'_>,
    reading: &Reading<'_>,
    span: &Span,
    (figure, beside): (f64, Quantity),
) -> String {
    let office = inspection.office;
    let (least, most) = middle(inspection, reading, span);
    let is_above = below(most, figure);
    match (reading.dimension, leak_size(inspection)) {
        (Dimension::Flow, Some(leak)) if is_above => {
            format!("which leaves no room for a leak of {leak} below the top of its span of {span}")
        }
        (Dimension::Flow, _) => {
            let least = reading.shown(beside, least - span.bottom);
            format!(
                "less than its error and a step, {least}, above the bottom of its span of {span}: it cannot be distinguished from no flow"
            )
        }
        _ => {
            let part = if is_above { "upper" } else { "lower" };
            let [least, most] = [least, most].map(|figure| in_unit_of(beside, figure, office).to_digits(DIGITS));
            format!("in the {part} part of its span of {span}: the middle is {least} .. {most}")
        }
    }
}

fn found(inspection: &Inspection<'_>, reading: &Reading<'_>) -> Option<Outside> {
    let office = inspection.office;
    if !matches!(reading.dimension, Dimension::Flow | Dimension::Pressure) {
        return None;
    }
    let (normal, place) = reading.fields.quantity(Key::Normal)?;
    let span = reading.span()?;
    let figure = office.figure(normal);
    let (least, most) = middle(inspection, reading, &span);
    if !below(figure, least) && !below(most, figure) {
        return None;
    }
    Some(Outside { normal, place, span })
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection) {
        let Some(outside) = found(inspection, &reading) else {
            continue;
        };
        let Outside { normal, span, .. } = outside;
        let name = reading.name();
        let figure = office.figure(normal);
        let message = if span.holds(figure) {
            let unsuited = unsuited(inspection, &reading, &span, (figure, normal));
            format!("{name} has a normal reading of {normal}, {unsuited}")
        } else {
            format!("{name} has a normal reading of {normal}, which is beyond its span of {span}")
        };
        report_said(sink, office, reading.id, outside.place, message)
            .about([reading.subject()])
            .related(span.place, "the span")
            .help("choose a sensor whose span suits the normal reading, or correct the normal reading");
    }
}
