//! The pressure along each cable, branch and pipe that changed, before and after, to be drawn.

use drysheath_engineering::units::Dimension;
use drysheath_explanation::Explainer;
use drysheath_office::UnitPreferences;
use drysheath_prediction::Line;
use drysheath_workspace::Analysis;

use super::figures::{LEAST_PART, air};
use super::matching::Matching;
use super::record::{AlongRecord, CurveRecord};
use crate::prediction::line_as_asked;

/// Intervals of a curve, besides the ends of sections. Within one the curve deviates by less than the width of a drawn
/// line.
const STEPS: u32 = 32;

/// The lines whose pressure or minimum pressure changed, in the order of the head's file.
pub(super) fn curves(base: &Analysis, head: &Analysis, matching: &Matching) -> Vec<CurveRecord> {
    let units = UnitPreferences::of(&head.office);
    let (before, after) = (air(base), air(head));
    let lines = after.prediction.air.lines().iter();
    let found = lines.filter_map(|now| {
        let thing = matching.base_of(now.thing)?;
        let branch = now.branch_name(after.office);
        let was = before
            .prediction
            .air
            .lines()
            .iter()
            .find(|was| was.thing == thing && was.branch_name(before.office) == branch)?;
        let (old, new) = (along(&before, was, &units)?, along(&after, now, &units)?);
        if !has_moved(&old, &new) {
            return None;
        }
        Some(CurveRecord {
            line: line_as_asked(after.office.name(now.thing), branch),
            length_unit: units.distance_figure(1.0).1,
            pressure_unit: units.figure(Dimension::Pressure, 1.0).1,
            before: old,
            after: new,
            sensors: sensors(&after, now, &units),
        })
    });
    found.collect()
}

/// The pressure along a line. `None` where its length is not known.
fn along(air: &Explainer<'_>, line: &Line, units: &UnitPreferences) -> Option<AlongRecord> {
    let length = line.length().filter(|length| *length > 0.0)?;
    let metres = |metres: f64| units.distance_figure(metres).0;
    let pascals = |pascals: f64| units.figure(Dimension::Pressure, pascals).0;
    let even = (0..=STEPS).map(|step| length * f64::from(step) / f64::from(STEPS));
    let mut places: Vec<f64> = even.chain(line.sections.iter().map(|section| section.to)).collect();
    places.sort_by(f64::total_cmp);
    places.dedup();
    let pressures = places.into_iter().filter_map(|place| {
        let pressure = air.prediction.air.pressure_along(line, place)?;
        Some((metres(place), pascals(pressure.pascals())))
    });
    let least = air.sections(line).filter_map(|section| {
        let least = air.office.gauge_pascals(section.minimum?.quantity);
        Some((metres(section.section.from), metres(section.section.to), pascals(least)))
    });
    Some(AlongRecord {
        length: metres(length),
        pressures: pressures.collect(),
        least: least.collect(),
    })
}

/// Whether a line is worth drawing: its length, its pressure or its minimum pressure changed somewhere.
fn has_moved(before: &AlongRecord, after: &AlongRecord) -> bool {
    if before.pressures.is_empty() && after.pressures.is_empty() {
        return false;
    }
    let highest = before
        .pressures
        .iter()
        .map(|(_, pressure)| pressure.abs())
        .fold(0.0, f64::max);
    let differ = |one: f64, other: f64| (one - other).abs() > highest * LEAST_PART;
    let is_other_pressure = |(place, now): &(f64, f64)| before.pressure_at(*place).is_none_or(|was| differ(was, *now));
    (before.length - after.length).abs() > before.length * LEAST_PART
        || before.pressures.is_empty() != after.pressures.is_empty()
        || after.pressures.iter().any(is_other_pressure)
        || before.least.len() != after.least.len()
        || before
            .least
            .iter()
            .zip(&after.least)
            .any(|(was, now)| differ(was.2, now.2))
}

/// The sensors on a line with their distances, from its beginning outwards.
fn sensors(air: &Explainer<'_>, line: &Line, units: &UnitPreferences) -> Vec<(f64, String)> {
    let profile = air.prediction.profile(air.office, air.networks, &air.minimums, line);
    let sensors = profile.into_iter().flat_map(|point| {
        let names: Vec<String> = point
            .what
            .split(", ")
            .filter(|what| air.office.named(what).is_some())
            .map(str::to_owned)
            .collect();
        names.into_iter().map(move |name| (point.metres, name))
    });
    sensors
        .map(|(metres, name)| (units.distance_figure(metres).0, name))
        .collect()
}
