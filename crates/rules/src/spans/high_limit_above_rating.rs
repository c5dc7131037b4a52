use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Limit};
use drysheath_text::Place;

use super::reading::{Reading, readings};
use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{StatedPressure, behind, stated};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::HighLimitAboveRating,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Spans,
    summary: "A high limit of pressure lies above the rating of what the sensor watches.",
    explanation: "A high limit is to warn before a sheath, a pipe or a manifold is overstressed. Above their rating it comes after \
                  that. It is compared with the cable or pipe that the sensor is on, or for a sensor in the office, with everything downstream up to \
                  the next regulator. Of two high limits the lower one counts. Lower \
                  the limit below the rating by more than the sensor's error.",
    source: Source::Derived("what a rating means"),
    example: Some(Example {
        failing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  -10 .. 25 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 6.7 psi minor deadband 0.3 psi
    limit high 20.1 psi major deadband 0.3 psi
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  -10 .. 25 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 6.7 psi minor deadband 0.3 psi
    limit high 20 psi major deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for reading in readings(inspection).filter(|reading| reading.dimension == Dimension::Pressure) {
        if let Some((limit, place)) = lower_high_limit(inspection, &reading)
            && let Some(weakest) = weakest(inspection, &reading)
            && below(weakest.figure, inspection.office.figure(limit.value))
        {
            report(inspection, &reading, (limit, place), &weakest, sink);
        }
    }
}

fn lower_high_limit<'o>(inspection: &Inspection<'_>, reading: &Reading<'o>) -> Option<(&'o Limit, Place)> {
    let figure = |limit: &Limit| inspection.office.figure(limit.value);
    let high = reading.fields.limits().filter(|(limit, _)| !limit.level.is_low());
    high.min_by(|(one, _), (other, _)| figure(one).total_cmp(&figure(other)))
}

/// The lowest rating of the things at the sensor's pressure or a lower one.
pub(crate) fn weakest(inspection: &Inspection<'_>, reading: &Reading<'_>) -> Option<StatedPressure> {
    let office = inspection.office;
    let rating = |id| stated(office, id, Key::Rating);
    if let Some(at) = office.host(reading.id) {
        return rating(at.thing?);
    }
    let air = &inspection.networks.air;
    let feeder = air.leading_to(reading.id).next().map(|link| link.from.thing);
    let is_tap = air.leaving(reading.id).next().is_none();
    let from = feeder.filter(|_| is_tap).unwrap_or(reading.id);
    let fed = behind(inspection, from);
    let ratings = std::iter::once(from).chain(fed.iter().copied()).filter_map(rating);
    ratings.min_by(|one, other| one.figure.total_cmp(&other.figure))
}

fn report(
    inspection: &Inspection<'_>,
    reading: &Reading<'_>,
    (limit, place): (&Limit, Place),
    weakest: &StatedPressure,
    sink: &mut Sink<'_>,
) {
    let office = inspection.office;
    let rated = office.name(weakest.thing);
    let message = format!(
        "the {} limit of {}, {}, is above the rating of `{rated}`, {}: the alarm comes when it is overstressed already",
        limit.level.word(),
        reading.name(),
        limit.value,
        weakest.quantity
    );
    report_said(sink, office, reading.id, place, message)
        .about([reading.field(place)])
        .related(weakest.place, format!("the rating of `{rated}`"))
        .help(format!("set the limit below the rating{}", reading.margin()));
}
