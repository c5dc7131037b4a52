//! Checks of cables, pipes, dryers and the things between them.

use drysheath_office::Office;
use drysheath_office::kinds::{Key, KindId};
use drysheath_prediction::{AirLocation, Line, LineSection, line_name, rated_by};

use super::{Comparison, CoverageSurvey, MissingFigure};
use crate::air::{
    budget, dew_point_above_coldest, expectation_unmet, pressure_above_rating, pressure_below_minimum,
    pressure_below_water_head,
};
use crate::lint::Inspection;
use crate::regulators::regulator_flow_over_max;
use crate::sections::section_range;

pub(super) fn survey(inspection: &Inspection<'_>, survey: &mut CoverageSurvey) {
    pressures(inspection, survey);
    ratings(inspection, survey);
    for (id, regulator) in inspection.office.of_kind(KindId::Regulator) {
        let compared = regulator_flow_over_max::compared(inspection, id);
        survey.note(inspection, Comparison::RegulatorFlow, &compared, (id, regulator.name));
    }
    dryers(inspection, survey);
    expectations(inspection, survey);
}

/// Counts the lowest pressure of each section. A pipe has no pairs to keep dry, so it counts only where a minimum is
/// declared for it.
fn pressures(inspection: &Inspection<'_>, survey: &mut CoverageSurvey) {
    let office = inspection.office;
    // A minimum that the office declares for all sections may be in unreadable text.
    let is_read = office.itself.is_none_or(|id| !office.thing(id).damaged);
    for section in inspection.sections() {
        let (line, reach) = (section.line, section.reach);
        let minimum = pressure_below_minimum::compared(&section);
        let Some(surroundings) = reach.surroundings else {
            if !matches!(minimum, Err(MissingFigure::Minimum)) {
                survey.count(Comparison::MinimumPressure, &minimum);
            }
            continue;
        };
        let lacks_minimum = survey.count(Comparison::MinimumPressure, &minimum) == Some(MissingFigure::Minimum);
        let lacks_depth = surroundings == Key::Aerial || {
            let head = pressure_below_water_head::compared(&section);
            survey.count(Comparison::WaterHead, &head) == Some(MissingFigure::Depth)
        };
        if lacks_minimum && lacks_depth && is_read {
            let is_aerial = surroundings == Key::Aerial;
            let lack = if is_aerial {
                MissingFigure::Minimum
            } else {
                MissingFigure::Depth
            };
            let place = (line.thing, section_range(office, line, reach));
            survey.add_unchecked(inspection, lack, place, || section_name(office, line, reach));
        }
    }
}

fn section_name(office: &Office, line: &Line, reach: &LineSection) -> String {
    let host = line_name(office, line);
    match line.section(office, reach) {
        Some((name, _)) => format!("section `{name}` of {host}"),
        None => host,
    }
}

fn ratings(inspection: &Inspection<'_>, survey: &mut CoverageSurvey) {
    let most = pressure_above_rating::highest_delivery(inspection.office);
    let has_air = |id| !inspection.office.may_only_carry_pairs(id);
    for (id, thing) in inspection.office.things().filter(|(id, _)| has_air(*id)) {
        if let Some(key) = rated_by(thing) {
            let compared = pressure_above_rating::compared(inspection, id, key, most);
            survey.note(inspection, Comparison::PressureRating, &compared, (id, thing.name));
        }
    }
}

/// Counts what is expected in each state. Nothing of it is judged while something of the air could not be read.
fn expectations(inspection: &Inspection<'_>, survey: &mut CoverageSurvey) {
    for unread in &inspection.office.unread_whens {
        for _ in 0..unread.expected {
            survey.count(Comparison::Expectations, &Err::<(), _>(MissingFigure::Figure));
        }
    }
    let whens = &inspection.office.whens;
    if whens.is_empty() {
        return;
    }
    let is_unread = expectation_unmet::is_unread(inspection.office);
    for (when, outcomes) in whens.iter().zip(inspection.outcomes()) {
        for number in 0..when.expected.len() {
            let outcome = outcomes.get(number).filter(|_| !is_unread);
            survey.count(Comparison::Expectations, &expectation_unmet::compared(outcome));
        }
    }
}

fn dryers(inspection: &Inspection<'_>, survey: &mut CoverageSurvey) {
    let Inspection {
        office,
        networks,
        prediction,
        ..
    } = *inspection;
    let has_cable = office.of_kind(KindId::Cable).any(|(id, _)| networks.is_reached(id));
    for (id, _) in office.of_kind(KindId::Dryer) {
        let system = prediction
            .air
            .system_at(&AirLocation::Thing(id))
            .ok_or(MissingFigure::Figure);
        let capacity = system.and_then(|system| budget::compared(inspection, system));
        survey.count(Comparison::DryerCapacity, &capacity);
        if has_cable {
            let dew_point = system.and_then(|system| dew_point_above_coldest::compared(inspection, system));
            survey.count(Comparison::DewPoint, &dew_point);
        }
    }
}
