use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Office};

use super::limit_order::LimitPoint;
use super::reading::{Reading, readings};
use crate::figures::{below, difference, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LimitWithinError,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[
        reliability::OF_OFFICE,
        reliability::OF_SYSTEM,
        reliability::OF_SUPPLY,
        (
            Scope::Signal,
            &[
                RuleId::LimitsOutOfOrder,
                RuleId::PredictedOffSpan,
                RuleId::LimitFinerThanStep,
                RuleId::LowLimitUnderMinimum,
                RuleId::LimitTripsWhenWell,
                RuleId::NormalNotAsPredicted,
                RuleId::PredictedOutsideMiddle,
            ],
        ),
        (Scope::Field, &[RuleId::LimitNearSpanEnd]),
    ],
    family: Family::Spans,
    summary: "A limit is nearer to what a sensor should read than the sensor's error.",
    explanation: "A sensor that errs the wrong way reaches such a limit with nothing amiss, and the alarm comes and goes with the weather. \
                  A low limit belongs below the computed value less the sensor's error, a high one above the computed value and the \
                  error. How far beyond, the leak that somebody is sent out for decides, and below, the minimum pressure that is \
                  declared for the place.",
    source: Source::Derived(
        "a reading may be off by the sensor's error; what it should be follows from the air network",
    ),
    example: Some(Example {
        failing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.05 psi
    error 0.2 psi
    proof 30 psi
    limit low 7.4 psi minor deadband 0.1 psi
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.05 psi
    error 0.2 psi
    proof 30 psi
    limit low 7.3 psi minor deadband 0.1 psi
}
",
    }),
    check: Check::Office(check),
};

/// The limits within the sensor's error of the expected reading, and the error.
fn found(office: &Office, reading: &Reading<'_>, expected: f64) -> Option<([Option<LimitPoint>; 2], Quantity)> {
    let (error, written) = reading.size(Key::Error)?;
    let near = |figure: f64| !below(error, (figure - expected).abs());
    if !reading
        .fields
        .limits()
        .any(|(limit, _)| near(office.figure(limit.value)))
    {
        return None;
    }
    let limit_order = reading.limit_order();
    let limit_points = [limit_order.upper_low(), limit_order.lower_high()];
    Some((
        limit_points.map(|limit_point| limit_point.filter(|limit_point| near(limit_point.figure))),
        written,
    ))
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection) {
        if !reading.fields.has(Key::Error) || reading.fields.limits().next().is_none() {
            continue;
        }
        let Some(expected) = reading.expected(inspection) else {
            continue;
        };
        let Some((limit_points, error)) = found(office, &reading, expected) else {
            continue;
        };
        for limit_point in limit_points.into_iter().flatten() {
            let message = format!(
                "the {} of {}, {}, is only {} from the {} that it should read{}: the sensor may be off by {error}",
                limit_point.name(),
                reading.name(),
                limit_point.quantity,
                difference(error, (limit_point.figure - expected).abs()),
                reading.shown(limit_point.quantity, expected),
                reading.location_text(inspection)
            );
            let finding = report_said(sink, office, reading.id, limit_point.place, message);
            finding.about(
                reading
                    .subject_computed(inspection)
                    .chain([reading.field(limit_point.place)]),
            );
            if let Some(field) = reading.fields.field(Key::Error) {
                finding.related(field.place, "the sensor's error");
            }
            finding
                .help("move the limit farther from this value than the error, or choose a sensor with a smaller one");
        }
    }
}
