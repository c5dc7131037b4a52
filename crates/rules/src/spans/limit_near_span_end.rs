use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Limit};
use drysheath_text::Place;

use super::reading::{Reading, Span, readings};
use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LimitNearSpanEnd,
    level: Level::Error,
    while_planned: None,
    yields_to: &[
        (Scope::Signal, &[RuleId::LimitsOutOfOrder]),
        (Scope::Field, &[RuleId::LimitTripsWhenWell]),
    ],
    family: Family::Spans,
    summary: "A limit lies nearer to an end of the span than the sensor's error.",
    explanation: "The reading stops at the end of the span. Where a limit is nearer to that end than the sensor may err, a \
                  sensor that errs the wrong way stops before the limit and the alarm does not come. Keep limits farther \
                  from both ends than the error, or choose a sensor with more room. Limits that are out of order are \
                  reported by that rule alone.",
    source: Source::Derived("a reading may be off by the sensor's error and never leaves the span"),
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low  8 psi major deadband 0.3 psi
    limit high 14.9 psi major deadband 0.3 psi
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
                let rooms = [(figure - span.bottom, "bottom"), (span.top - figure, "top")];
                for (room, end) in rooms {
                    judge(inspection, &reading, &span, (limit, place), (room.max(0.0), end), sink);
                }
            }
        }
    }
}

fn judge(
    inspection: &Inspection<'_>,
    reading: &Reading<'_>,
    span: &Span,
    (limit, place): (&Limit, Place),
    (room, end): (f64, &str),
    sink: &mut Sink<'_>,
) {
    let office = inspection.office;
    let Some((at_end, error)) = too_near(reading, span, room) else {
        return;
    };
    let (level, name) = (limit.level.word(), reading.name());
    let start = format!("the {level} limit of {name}, {}, is", limit.value);
    let message = match error.filter(|_| !at_end) {
        Some(error) => {
            let room = Quantity {
                value: error.unit.from_si(room),
                unit: error.unit,
            };
            format!("{start} {room} from the {end} of its span of {span}, and the sensor may be off by {error}")
        }
        None => format!("{start} at the very {end} of its span of {span}, where the reading stops"),
    };
    report_said(sink, office, reading.id, place, message)
        .about([reading.subject(), reading.field(place)])
        .related(span.place, "the span")
        .help("move the limit farther in, or choose a sensor whose span leaves it room");
}

/// Whether a limit at this distance from an end of the span is too near to it: within the sensor's error if stated,
/// otherwise at the end itself.
fn too_near(reading: &Reading<'_>, span: &Span, room: f64) -> Option<(bool, Option<Quantity>)> {
    let error = reading.size(Key::Error);
    let size = span.top - span.bottom;
    let at_end = !below(0.0, room) || !below(size, size + room);
    let within = error.is_some_and(|(error, _)| below(room, error));
    (at_end || within).then(|| (at_end, error.map(|(_, written)| written)))
}
