//! Which cuts no limit of an office surely reports, along its cables and pipes.
//!
//! Beyond a cut no pressure is left. So nothing need be computed where a sensor with a low limit stands beyond, as at the end of nearly every
//! cable. For other places the cut is made in the network, with leakage that follows the pressure, as `predict` does.

use drysheath_engineering::network::Hole;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, ThingId};
use drysheath_prediction::{AirLocation, Line, TreePlace};

use super::undetected::{UndetectedInterval, known, trips, undetected};
use super::watchers::LimitWatch;
use crate::figures::below;
use crate::lint::Inspection;
use crate::precedence::Subject;

/// The cuts of an office, and what reports them.
pub(super) struct CutWatch<'i, 'o> {
    inspection: &'i Inspection<'o>,
    /// Pressure switches on lines whose set point the file does not say: it is above none.
    switches: Vec<ThingId>,
}

impl<'i, 'o> CutWatch<'i, 'o> {
    pub fn new(inspection: &'i Inspection<'o>) -> Self {
        let office = inspection.office;
        let switches = office.of_kind(KindId::PressureSwitch);
        let switches = switches.filter(|(id, thing)| !thing.has(Key::Limit) && office.host(*id).is_some());
        Self {
            inspection,
            switches: switches.map(|(id, _)| id).collect(),
        }
    }

    /// The stretches of a line, with its number among those of the air, on which a cut surely trips no limit. None are told where the air system
    /// has no limit at all, which other rules report.
    pub fn unreported(
        &self,
        watch: &LimitWatch<'_>,
        beyond: &Beyond,
        (number, line): (usize, &Line),
    ) -> Vec<UndetectedInterval> {
        if watch.watchers.is_empty() || beyond.may_be_any {
            return Vec::new();
        }
        if line
            .length()
            .is_some_and(|length| beyond.any(watch, line, (0.0, length)))
        {
            return Vec::new();
        }
        let mut open = known(watch.air, line, |stretch| !beyond.any(watch, line, stretch));
        if watch.tree.is_some() {
            // There, a cut tells the less the farther out it is: less air flows to it, and no sensor before it reads less. A line may be fed at its
            // end.
            open.retain(|(from, to)| {
                let mut ends = [to, from].into_iter();
                ends.any(|metres| trips(self.inspection, number, *metres, Hole::Open) == Some(false))
            });
        }
        if open.is_empty() {
            return Vec::new();
        }
        undetected(self.inspection, (number, line), Hole::Open, &open)
    }
}

/// A stretch without an alarm for a cut, as something that results are about.
pub(super) fn cut_stretch(line: &Line, stretch: &UndetectedInterval) -> Subject {
    Subject::CutStretch(line.thing, line.branch, stretch.from.round() as i64)
}

/// Where the sensors are that any cut before them trips.
pub(super) struct Beyond {
    places: Vec<TreePlace>,
    /// Whether that cannot be told, since a cable or pipe gets its air from several sides and the set point of a pressure switch is not stated.
    may_be_any: bool,
}

impl Beyond {
    pub fn of(cuts: &CutWatch<'_, '_>, watch: &LimitWatch<'_>) -> Self {
        let Inspection { office, networks, .. } = *cuts.inspection;
        let Some((tree, places)) = &watch.tree else {
            return Self {
                places: Vec::new(),
                may_be_any: cuts.switches.iter().any(|id| {
                    let location = watch.air.location_of(office, networks, *id);
                    location.and_then(|at| watch.air.system_at(&at)) == Some(watch.system)
                }),
            };
        };
        let surely = watch.watchers.iter().zip(places.iter()).filter_map(|(watcher, place)| {
            let is_left = !watcher.is_flow() && below(0.0, watcher.limit_point.figure - watcher.reading.error());
            place.filter(|_| is_left)
        });
        let switches = cuts.switches.iter().filter_map(|id| {
            let location = watch.air.location_of(office, networks, *id)?;
            tree.place(&location)
        });
        Self {
            places: surely.chain(switches).collect(),
            may_be_any: false,
        }
    }

    /// Whether one of the sensors is beyond a whole stretch of a line.
    fn any(&self, watch: &LimitWatch<'_>, line: &Line, (from, to): (f64, f64)) -> bool {
        /// A sensor at the end of a line may be a rounding before it.
        const ROUNDING: f64 = 0.01;
        let Some((tree, _)) = &watch.tree else { return false };
        let middle = f64::midpoint(from, to);
        let ends = [(from + ROUNDING).min(middle), (to - ROUNDING).max(middle)];
        let [near, far] = ends.map(|metres| tree.place(&AirLocation::OnLine(line, metres)));
        let Some((near, far)) = near.zip(far) else { return false };
        let is_beyond = |sensor: &TreePlace| tree.is_beyond(sensor, &far) && tree.is_beyond(sensor, &near);
        self.places.iter().any(is_beyond)
    }
}
