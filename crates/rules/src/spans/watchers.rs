//! The limits of an air system that a leak or cut can trip, and the paths of its air.

use std::collections::{BTreeMap, BTreeSet};

use drysheath_engineering::index::IndexVec;
use drysheath_engineering::index_type;
use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::Kind;
use drysheath_office::{LimitLevel, Office, Thing};
use drysheath_prediction::{Air, AirLocation, Line, MissingInput, StateError, SupplyTree, SystemId, TreePlace};
use drysheath_syntax::Medium;

use super::limit_order::LimitPoint;
use super::reading::{Reading, readings};
use crate::coverage::MissingFigure;
use crate::figures::below;
use crate::lint::Inspection;

index_type! {
    /// Index of a limit that a leak or cut can trip.
    pub(super) struct WatcherIndex;
}

/// The limits of an air system that a leak or cut can trip.
pub(super) struct LimitWatch<'i> {
    pub air: &'i Air,
    pub system: SystemId,
    /// The paths of air, if each place has a single one, and the places of the watchers on them.
    pub tree: Option<(SupplyTree<'i>, IndexVec<WatcherIndex, Option<TreePlace>>)>,
    pub watchers: IndexVec<WatcherIndex, Watcher<'i>>,
}

/// A limit that may report a cut: the first low limit of a pressure, or the first high limit of a flow.
pub(super) struct Watcher<'i> {
    pub reading: Reading<'i>,
    pub limit_point: LimitPoint,
    pub location: AirLocation<'i>,
}

impl Watcher<'_> {
    pub fn is_flow(&self) -> bool {
        self.reading.dimension == Dimension::Flow
    }
}

impl<'i> LimitWatch<'i> {
    fn new(air: &'i Air, system: SystemId, watchers: IndexVec<WatcherIndex, Watcher<'i>>) -> Self {
        let tree = air.supply_tree(system).map(|tree| {
            let places = watchers.iter().map(|watcher| tree.place(&watcher.location)).collect();
            (tree, places)
        });
        Self {
            air,
            system,
            tree,
            watchers,
        }
    }
}

/// The limits of each air system, and the lines to search for leaks and cuts, with their indices among the lines of the
/// air. Empty where unreadable text may be a limit.
pub(super) fn watches<'i>(inspection: &'i Inspection<'_>) -> Vec<(LimitWatch<'i>, Vec<(usize, &'i Line)>)> {
    let air = &inspection.prediction.air;
    if is_unsure(inspection) {
        return Vec::new();
    }
    let mut systems: BTreeMap<SystemId, Vec<(usize, &'i Line)>> = BTreeMap::new();
    for (number, line) in air.lines().iter().enumerate() {
        if let Ok(system) = compared(inspection, (number, line)) {
            systems.entry(system).or_default().push((number, line));
        }
    }
    if systems.is_empty() {
        return Vec::new();
    }
    let mut watching: BTreeMap<SystemId, Vec<Watcher<'_>>> = BTreeMap::new();
    for (system, watcher) in watchers(inspection) {
        watching.entry(system).or_default().push(watcher);
    }
    let watch = |(system, lines): (SystemId, Vec<(usize, &'i Line)>)| {
        let own = watching.remove(&system).unwrap_or_default();
        (LimitWatch::new(air, system, own.into()), lines)
    };
    systems.into_iter().map(watch).collect()
}

/// Whether unreadable text may be a sensor or the limit of one.
pub(crate) fn is_unsure(inspection: &Inspection<'_>) -> bool {
    let office = inspection.office;
    let is_sensor = |thing: &Thing| thing.kind.is_none_or(Kind::is_sensor);
    // Things left out because of their stage are not unreadable sensors.
    let is_left_out = |id| office.excluded.has(id);
    let mut things = office.things().filter(|(id, _)| !is_left_out(*id));
    office.unsure.about(Medium::Air) || things.any(|(_, thing)| thing.damaged && is_sensor(thing))
}

/// All limits that a leak or cut can trip, each with the air system of its sensor. A limit that is tripped in the
/// normal state reports nothing.
fn watchers<'i>(inspection: &'i Inspection<'_>) -> Vec<(SystemId, Watcher<'i>)> {
    let watcher = |reading: Reading<'i>| {
        let is_low = match reading.dimension {
            Dimension::Pressure => true,
            Dimension::Flow => false,
            _ => return None,
        };
        let is_of_side = |limit_point: &LimitPoint| limit_point.level.map(LimitLevel::is_low) == Some(is_low);
        let limit_order = reading.limit_order();
        limit_order.limit_points().find(is_of_side)?;
        let expected = reading.expected(inspection)?;
        let is_quiet = |limit_point: &LimitPoint| {
            if is_low {
                below(limit_point.figure, expected)
            } else {
                below(expected, limit_point.figure)
            }
        };
        let mut limit_points = limit_order.limit_points().filter(is_of_side).filter(is_quiet);
        let limit_point = if is_low {
            limit_points.last()
        } else {
            limit_points.next()
        }?;
        let (air, office) = (&inspection.prediction.air, inspection.office);
        let location = air.location_of(office, inspection.networks, reading.id)?;
        let watcher = Watcher {
            reading,
            limit_point,
            location,
        };
        Some((air.system_at(&location)?, watcher))
    };
    readings(inspection).filter_map(watcher).collect()
}

/// The air system in which leaks and cuts of a line are looked at, by its number among those of the air.
pub(crate) fn compared(inspection: &Inspection<'_>, (number, line): (usize, &Line)) -> Result<SystemId, MissingFigure> {
    let air = &inspection.prediction.air;
    let is_known = |metres| air.pressure(&AirLocation::OnLine(line, metres)).is_some();
    let mut segments = air.segments(line);
    air.system_at(&AirLocation::OnLine(line, 0.0))
        .filter(|system| !is_watched_elsewhere(inspection, line, *system))
        .filter(|_| segments.any(|(from, to, _)| is_known(from) && is_known(to)))
        .ok_or(MissingFigure::Figure)
        .and_then(|system| {
            let detection = inspection.detection().ok_or(MissingFigure::Figure)?.borrow();
            if detection.is_known(number) {
                Ok(system)
            } else if detection.why_unknown(number).is_some() {
                Err(MissingFigure::Leakage)
            } else {
                Err(MissingFigure::Figure)
            }
        })
}

/// What the file does not say, and therefore leaves out of what is said of leaks and cuts whole air systems.
pub(crate) fn missing_for_leaks(inspection: &Inspection<'_>) -> Vec<MissingInput> {
    let Some(detection) = inspection.detection() else {
        return Vec::new();
    };
    let (mut found, mut systems, mut known) = (Vec::new(), BTreeSet::new(), BTreeSet::new());
    for (number, line) in inspection.prediction.air.lines().iter().enumerate() {
        if compared(inspection, (number, line)) != Err(MissingFigure::Leakage) {
            continue;
        }
        // All lines of a system lack the same.
        let detection = detection.borrow();
        if let Some((system, why)) = detection.why_unknown(number)
            && let StateError::Missing(missing) = &**why
            && systems.insert(system)
        {
            let new = missing
                .iter()
                .filter(|input| known.insert((input.range, input.what.clone())));
            found.extend(new.cloned());
        }
    }
    found
}

/// Whether sensors of another office may detect a leak on a route: those on its cable, or all if that office feeds it
/// too. Their limits are not computed here.
fn is_watched_elsewhere(inspection: &Inspection<'_>, line: &Line, system: SystemId) -> bool {
    let office = inspection.office;
    let has_sensor_at = |(other, thing): (&Office, _)| {
        let mut things = other.things();
        things.any(|(id, _)| other.host(id).and_then(|at| at.thing) == Some(thing))
    };
    let mut feeds = inspection.prediction.air.dryers_elsewhere(system);
    office.elsewhere(line.thing).any(has_sensor_at) || office.shared(line.thing).is_some() && feeds.next().is_some()
}
