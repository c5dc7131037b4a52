use drysheath_engineering::units::Dimension;
use drysheath_office::Fields;
use drysheath_office::kinds::Key;

use super::order::Ladder;
use super::reading::readings;
use crate::figures::{below, in_unit_of, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::settings::PracticeKey;

pub(super) static RULE: Rule = Rule {
    name: "normal-outside-middle",
    level: Level::Warning,
    while_planned: None,
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
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 11.5 psi
#   ^^^^^^^^^^^^^^^
    proof 30 psi
    limit low 8 psi major deadband 0.3 psi
}
",
        passing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 11.25 psi
    proof 30 psi
    limit low 8 psi major deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let from = inspection.settings.fraction(PracticeKey::NormalFrom);
    let to = inspection.settings.fraction(PracticeKey::NormalTo);
    for reading in readings(office) {
        if !matches!(reading.dimension, Dimension::Flow | Dimension::Pressure) {
            continue;
        }
        let Some((normal, place)) = reading.fields.quantity(Key::Normal) else {
            continue;
        };
        let Some(span) = reading.span() else { continue };
        let figure = office.figure(normal);
        let size = span.top - span.bottom;
        let (least, most) = (span.bottom + from * size, span.bottom + to * size);
        if !below(figure, least) && !below(most, figure) || Ladder::of(&reading, office).first_disorder().is_some() {
            continue;
        }
        let name = reading.name();
        let message = if span.holds(figure) {
            let part = if figure > most { "upper" } else { "lower" };
            let (least, most) = (in_unit_of(normal, least, office), in_unit_of(normal, most, office));
            format!(
                "{name} normally reads {normal}, in the {part} part of its span of {span}: the middle is {least} .. {most}"
            )
        } else {
            format!("{name} normally reads {normal}, which is beyond its span of {span}")
        };
        report_said(sink, office, reading.id, place, message)
            .related(span.place, "the span")
            .help("choose a span that has the normal reading in its middle, or correct the normal reading");
    }
}
