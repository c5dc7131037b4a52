//! Likely place of a leak along a cable, from the readings of one day.
//!
//! The search is `drysheath_prediction::FitProblem::leak`: usage, resistance and set pressure may deviate as far as the
//! settings allow, and all pressures, flows and gauge readings of that day in the same air system are used.

use std::collections::BTreeMap;

use drysheath_engineering::estimate::EstimateError;
use drysheath_engineering::measure::Flow;
use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::KindId;
use drysheath_office::{Date, ThingId};
use drysheath_prediction::{
    AirLocation, LeakInterval, LeakSearch, Line, SystemId, distance_name, line_name, position_name,
};

use crate::figures::{names, shown_flow};
use crate::fit::{Observed, bounds, observed};
use crate::lint::Inspection;
use crate::records::of_day::on_day;
use crate::spans::{Reading, readings};

/// Minimum improvement of χ² by a leak, for the leak to be reported: two standard deviations.
const NEEDED: f64 = 4.0;
/// A place is reported only if it is narrowed down to this fraction of the cable.
const NARROW: f64 = 0.67;
/// Places closer than this are the same, m.
const NEAR: f64 = 0.5;

/// The searches made so far, by day and air system: all lines of a system share one.
pub(super) type Searches = BTreeMap<(Date, SystemId), Option<Result<Option<LeakSearch>, EstimateError>>>;

/// A sentence for the technician on the likely position of a leak, for a cable whose pressure is too low, from the
/// readings of one day.
pub(super) fn advice(inspection: &Inspection<'_>, line: &Line, day: Date, searches: &mut Searches) -> Option<String> {
    on_day(inspection, day, |inspection| {
        let mut lines = inspection.prediction.air.lines().iter();
        let line = lines.find(|other| other.thing == line.thing && other.branch == line.branch)?;
        advice_as_it_was(inspection, line, day, searches)
    })
}

fn advice_as_it_was(inspection: &Inspection<'_>, line: &Line, day: Date, searches: &mut Searches) -> Option<String> {
    let office = inspection.office;
    if !office.thing(line.thing).is(KindId::Cable) {
        return None;
    }
    let air = &inspection.prediction.air;
    let system = air.system_at(&AirLocation::OnLine(line, 0.0))?;
    let (mut observed, _) = observed(inspection, day);
    observed.retain(|observed| observed.system == system);
    let search = searches.entry((day, system)).or_insert_with(|| {
        let observations: Vec<_> = observed.iter().map(|observed| observed.observation).collect();
        Some(air.readings(system, &bounds(inspection), &observations)?.leak())
    });
    let found = match search.as_ref()? {
        Ok(found) => found.as_ref()?,
        Err(why) => return Some(format!("the readings of {day} do not place a leak: {why}")),
    };
    let more = more(inspection, line, &observed);
    if found.without - found.least < NEEDED {
        return Some(format!(
            "the readings of {day} can be explained without a leak, by usage and resistance within `usage-estimate-within` and \
             `resistance-within`: {more}"
        ));
    }
    let Places { first, others } = places(inspection, found)?;
    if !is_narrow(inspection, found) {
        return Some(format!(
            "the readings of {day} tell that there is a leak, and leave its place open ({first}{others}): {more}"
        ));
    }
    let either = if others.is_empty() {
        "check on the place before anybody digs".to_owned()
    } else {
        format!("{more} to tell which, and check on the place before anybody digs")
    };
    Some(format!(
        "the readings of {day} put a leak {first}{others}: usage, resistance and set pressure may be off as far as the settings allow, \
         one leak and steady flow are taken for granted; {either}"
    ))
}

/// Possible places of a leak, as text.
struct Places {
    /// The first stretch: "at 2.1 km on `c101`, most likely between 1.9 km and 2.3 km".
    first: String,
    /// The other stretches: ", or between …" for each.
    others: String,
}

fn places(inspection: &Inspection<'_>, found: &LeakSearch) -> Option<Places> {
    const SHOWN: usize = 3;
    let office = inspection.office;
    let lines = inspection.prediction.air.lines();
    let (first, others) = found.stretches.split_first()?;
    let line = lines.get(first.line)?;
    let [place, from, to] = rounded(first);
    let said = |stretch: &LeakInterval| {
        let line = lines.get(stretch.line)?;
        let [_, from, to] = rounded(stretch);
        let name = line_name(office, line);
        let [from, to] = [from, to].map(|metres| distance_name(office, line, metres));
        Some(format!(", or between {from} and {to} of {name}"))
    };
    let mut said: Vec<String> = others.iter().filter_map(said).collect();
    if said.len() > SHOWN {
        let rest = said.len() - SHOWN;
        said.truncate(SHOWN);
        said.push(format!(", or in {rest} more stretches"));
    }
    Some(Places {
        first: format!(
            "{}, most likely between {} and {} and of about {}",
            position_name(office, line, place),
            distance_name(office, line, from),
            distance_name(office, line, to),
            about(inspection, first.flow)
        ),
        others: said.concat(),
    })
}

/// A flow rounded to its accuracy.
fn about(inspection: &Inspection<'_>, flow: Flow) -> String {
    let figure = flow.cubic_metres_per_second();
    let size = 10_f64.powf(figure.log10().floor() - 1.0);
    shown_flow(
        inspection.office,
        Flow::from_cubic_metres_per_second((figure / size).round() * size),
    )
}

/// The best place of a stretch and its ends, m, rounded to a tenth of its length or finer.
fn rounded(stretch: &LeakInterval) -> [f64; 3] {
    let step = 10_f64.powf((stretch.to - stretch.from).log10().floor() - 1.0).max(NEAR);
    let to_step = |metres: f64| (metres / step).round() * step;
    [
        to_step(stretch.best),
        (stretch.from / step).floor() * step,
        to_step(stretch.to),
    ]
}

/// Whether the stretches are short enough to be worth a visit.
fn is_narrow(inspection: &Inspection<'_>, found: &LeakSearch) -> bool {
    let lines = inspection.prediction.air.lines();
    let told: f64 = found.stretches.iter().map(|stretch| stretch.to - stretch.from).sum();
    let first = found.stretches.first().and_then(|first| lines.get(first.line));
    first
        .and_then(Line::length)
        .is_some_and(|length| told <= NARROW * length)
}

/// Readings that would narrow it down: sensors of the line that were not read on that day, or a gauge.
fn more(inspection: &Inspection<'_>, line: &Line, observed: &[Observed<'_>]) -> String {
    let is_on_line = |reading: &Reading<'_>| {
        let place = reading.place_on_line(inspection);
        reading.dimension == Dimension::Pressure && place.is_some_and(|(other, _)| std::ptr::eq(other, line))
    };
    let was_read = |reading: &Reading<'_>| observed.iter().any(|observed| observed.sensor == Some(reading.id));
    let unread: Vec<ThingId> = readings(inspection)
        .filter(|reading| !reading.is_switch && is_on_line(reading) && !was_read(reading))
        .map(|reading| reading.id)
        .collect();
    if unread.is_empty() {
        "take more pressures with a gauge at valves along the cable".to_owned()
    } else {
        format!(
            "read {} on the same day as the others",
            names(inspection.office, &unread)
        )
    }
}
