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

pub(crate) static RULE: Rule = Rule {
    id: RuleId::NormalOutsideMiddle,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Signal, &[RuleId::LimitsOutOfOrder, RuleId::PredictedOffSpan])],
    family: Family::Spans,
    summary: "The normal reading lies outside the middle of the span.",
    explanation: "A pressure or flow sensor is chosen so that what it reads on a good day lies in the middle half of its \
                  span: near the bottom it is too coarse, near the top it is pinned before a leak is measured. The settings \
                  `normal-from` and `normal-to` say which part counts as the middle. Humidity and dew point are left out: \
                  dry air belongs at the bottom of their spans.",
    source: Source::FromMemory("ASME B40.100, for gauges"),
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
    /// The bounds of the middle.
    least: f64,
    most: f64,
    /// Whether it lies above.
    is_above: bool,
}

/// The bounds of the middle of a span.
pub(super) fn middle(inspection: &Inspection<'_>, span: &Span) -> (f64, f64) {
    let part = |key| span.bottom + inspection.settings.fraction(key) * (span.top - span.bottom);
    (part(PracticeKey::NormalFrom), part(PracticeKey::NormalTo))
}

fn found(inspection: &Inspection<'_>, reading: &Reading<'_>) -> Option<Outside> {
    let office = inspection.office;
    if !matches!(reading.dimension, Dimension::Flow | Dimension::Pressure) {
        return None;
    }
    let (normal, place) = reading.fields.quantity(Key::Normal)?;
    let span = reading.span()?;
    let figure = office.figure(normal);
    let (least, most) = middle(inspection, &span);
    if !below(figure, least) && !below(most, figure) {
        return None;
    }
    Some(Outside {
        normal,
        place,
        span,
        least,
        most,
        is_above: below(most, figure),
    })
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(office) {
        let Some(outside) = found(inspection, &reading) else {
            continue;
        };
        let Outside { normal, span, .. } = outside;
        let name = reading.name();
        let message = if span.holds(office.figure(normal)) {
            let part = if outside.is_above { "upper" } else { "lower" };
            let [least, most] = [outside.least, outside.most].map(|figure| in_unit_of(normal, figure, office));
            format!(
                "{name} normally reads {normal}, in the {part} part of its span of {span}: the middle is {least} .. {most}"
            )
        } else {
            format!("{name} normally reads {normal}, which is beyond its span of {span}")
        };
        report_said(sink, office, reading.id, outside.place, message)
            .about([reading.subject()])
            .related(span.place, "the span")
            .help("choose a span that has the normal reading in its middle, or correct the normal reading");
    }
}
