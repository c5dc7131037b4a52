use drysheath_office::{Fields, LimitLevel};

use super::limit_order::LimitPoint;
use super::reading::{Reading, readings};
use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LimitTripsWhenWell,
    level: Level::Error,
    while_planned: None,
    yields_to: &[
        reliability::OF_OFFICE,
        reliability::OF_SYSTEM,
        reliability::OF_SUPPLY,
        (Scope::Signal, &[RuleId::PredictedOffSpan, RuleId::LimitsOutOfOrder]),
    ],
    family: Family::Spans,
    summary: "What a sensor should read when all is well lies beyond one of its limits.",
    explanation: "An alarm that is on every good day is switched off or overlooked, and so is the one that matters. The value \
                  that follows from the record is at the limit or beyond it. Move the limit away from the computed value by more \
                  than the sensor's error; if the value is not believed, correct what it comes from. Of two limits on one side \
                  that both trip, the milder is marked. Where the pressure is below the least that is declared for the section, \
                  that is reported instead.",
    source: Source::Derived("what a limit means; what the sensor should read follows from the air network"),
    example: Some(Example {
        failing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 7.6 psi minor deadband 0.3 psi
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 7.3 psi minor deadband 0.2 psi
}
",
    }),
    check: Check::Office(check),
};

/// Limits that trip in the normal state, the milder one first.
struct Tripped {
    first: LimitPoint,
    second: Option<LimitPoint>,
}

fn found(inspection: &Inspection<'_>, reading: &Reading<'_>, expected: f64) -> Option<Tripped> {
    let office = inspection.office;
    let trips = |level: LimitLevel, figure: f64| {
        if level.is_low() {
            !below(figure, expected)
        } else {
            !below(expected, figure)
        }
    };
    let is_any = reading
        .fields
        .limits()
        .any(|(limit, _)| trips(limit.level, office.figure(limit.value)));
    if !is_any {
        return None;
    }
    let of_interest = |limit_point: LimitPoint| {
        let level = limit_point.level.filter(|level| trips(*level, limit_point.figure))?;
        Some((level, limit_point))
    };
    let limit_order = reading.limit_order();
    let mut tripped = limit_order.limit_points().filter_map(of_interest);
    let (level, one) = tripped.next()?;
    let other = tripped.next().map(|(_, limit_point)| limit_point);
    Some(match other {
        // In ascending order, the milder of two low limits is the last.
        Some(other) if level.is_low() => Tripped {
            first: other,
            second: Some(one),
        },
        second => Tripped { first: one, second },
    })
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection) {
        if reading.fields.limits().next().is_none() {
            continue;
        }
        let Some(expected) = reading.expected(inspection) else {
            continue;
        };
        let Some(Tripped { first, second }) = found(inspection, &reading, expected) else {
            continue;
        };
        let side = if first.level.is_some_and(LimitLevel::is_low) {
            "at or below"
        } else {
            "at or above"
        };
        let message = format!(
            "{} {} {}{} when all is well, {side} its {} of {}: this alarm is always on",
            reading.name(),
            reading.should_read(),
            reading.shown(first.quantity, expected),
            reading.location_text(inspection),
            first.name(),
            first.quantity
        );
        let normal = reading.limit_order().normal();
        let finding = report_said(sink, office, reading.id, first.place, message);
        let limits = std::iter::once(first)
            .chain(second)
            .map(|limit_point| reading.field(limit_point.place));
        finding.about(reading.subject_computed(inspection).chain(limits));
        if let Some(second) = second {
            finding.related(second.place, format!("the {} trips as well", second.name()));
        }
        if let Some(normal) = normal {
            finding.related(normal.place, "the normal reading that is stated");
        }
        finding.help(format!(
            "move the limit away from this value{}, or correct what is declared of the air on its way there",
            reading.margin()
        ));
    }
}
