//! Which cuts no limit of an office surely reports, along its cables and pipes.
//!
//! Beyond a cut no pressure is left. So nothing need be computed where a sensor with a low limit stands beyond, as at the end of nearly every
//! cable. For other places the cut is made in the network, with leakage that follows the pressure, as `predict` does.

use std::cell::OnceCell;

use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, ThingId};
use drysheath_prediction::{AirLocation, Cut, Detection, Line, TreePlace, Watcher, WatcherId};

use super::stretch::NEAR;
use super::watch::Watch;
use crate::figures::below;
use crate::lint::Inspection;
use crate::precedence::Subject;

/// A stretch of a line on which a cut surely trips no limit, in metres.
pub(super) struct CutStretch {
    pub from: f64,
    pub to: f64,
    /// The place in it where the limits are farthest from telling.
    pub at: f64,
    /// The limit that comes nearest with a cut there, and what its sensor reads.
    pub nearest: (WatcherId, f64),
    share: f64,
}

impl CutStretch {
    /// The stretch as something that results are about.
    pub fn subject(&self, line: &Line) -> Subject {
        Subject::CutStretch(line.thing, line.branch, self.from.round() as i64)
    }
}

/// The network of an office, for cuts to be made in it where that is needed.
pub(super) struct CutWatch<'i, 'o> {
    inspection: &'i Inspection<'o>,
    detection: OnceCell<Option<Detection<'o>>>,
    /// Pressure switches on lines whose set point the file does not say: it is above none.
    switches: Vec<ThingId>,
}

/// A place of a line, and what a cut there does.
struct Tried {
    metres: f64,
    cut: Option<Cut>,
}

impl Tried {
    /// The nearest limit, with its reading and how far that has gone. None where a limit surely trips, and where nothing is known.
    fn silent(&self) -> Option<((WatcherId, f64), f64)> {
        let cut = self.cut.filter(|cut| !cut.is_reported())?;
        Some((cut.nearest?, cut.share))
    }
}

impl<'i, 'o> CutWatch<'i, 'o> {
    pub fn new(inspection: &'i Inspection<'o>) -> Self {
        let office = inspection.office;
        let switches = office.of_kind(KindId::PressureSwitch);
        let switches = switches.filter(|(id, thing)| !thing.has(Key::Limit) && office.host(*id).is_some());
        Self {
            inspection,
            detection: OnceCell::new(),
            switches: switches.map(|(id, _)| id).collect(),
        }
    }

    /// A limit that a cut could trip.
    pub fn watcher(&self, id: WatcherId) -> Option<&Watcher> {
        Some(&self.detection.get()?.as_ref()?.watchers[id])
    }

    fn detection(&mut self) -> Option<&mut Detection<'o>> {
        let Inspection {
            office,
            networks,
            prediction,
            ..
        } = *self.inspection;
        self.detection
            .get_or_init(|| prediction.air.detection(office, networks));
        self.detection.get_mut()?.as_mut()
    }

    /// The stretches of a line on which a cut surely trips no limit. None are told where the air system has no limit at all, which other
    /// rules report.
    pub fn unreported(&mut self, watch: &Watch<'_>, beyond: &Beyond, line: &Line) -> Vec<CutStretch> {
        let air = watch.air;
        if watch.watchers.is_empty() || beyond.may_be_any {
            return Vec::new();
        }
        if line
            .length()
            .is_some_and(|length| beyond.any(watch, line, (0.0, length)))
        {
            return Vec::new();
        }
        let mut open: Vec<(f64, f64)> = Vec::new();
        for (from, to, _) in air.segments(line) {
            let ends = [from, to].map(|metres| AirLocation::OnLine(line, metres));
            if ends.iter().all(|end| air.pressure(end).is_some()) && !beyond.any(watch, line, (from, to)) {
                match open.last_mut().filter(|last| from - last.1 < NEAR) {
                    Some(last) => last.1 = to,
                    None => open.push((from, to)),
                }
            }
        }
        if open.is_empty() {
            return Vec::new();
        }
        let Some(number) = air.lines().iter().position(|other| std::ptr::eq(other, line)) else {
            return Vec::new();
        };
        let Some(detection) = self.detection() else {
            return Vec::new();
        };
        let is_fed_from_one_side = watch.tree.is_some();
        let mut found = Vec::new();
        for open in open {
            // There, a cut tells the less the farther out it is: less air flows to it, and no sensor before it reads less. A line may be fed at its
            // end.
            let is_silent = [open.1, open.0].into_iter().any(|metres| {
                let cut = detection.cut(number, metres);
                Tried { metres, cut }.silent().is_some()
            });
            if !is_fed_from_one_side || is_silent {
                search(detection, (number, line), open, &mut found);
            }
        }
        found
    }
}

/// Where the sensors are that any cut before them trips.
pub(super) struct Beyond {
    places: Vec<TreePlace>,
    /// Whether that cannot be told, since a cable or pipe gets its air from several sides and the set point of a pressure switch is not stated.
    may_be_any: bool,
}

impl Beyond {
    pub fn of(cuts: &CutWatch<'_, '_>, watch: &Watch<'_>) -> Self {
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
            let is_left = !watcher.is_flow() && below(0.0, watcher.rung.figure - watcher.reading.error());
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
    fn any(&self, watch: &Watch<'_>, line: &Line, (from, to): (f64, f64)) -> bool {
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

/// Looks for the stretches between two distances of a line, by its number among those of the air.
fn search(
    detection: &mut Detection<'_>,
    (number, line): (usize, &Line),
    (from, to): (f64, f64),
    found: &mut Vec<CutStretch>,
) {
    let is_cable = detection.is_cable(line);
    let mut places = detection.places(number);
    places.retain(|metres| (from - NEAR..=to + NEAR).contains(metres));
    let mut before: Option<Tried> = None;
    for metres in places {
        let own = Tried {
            metres,
            cut: detection.cut(number, metres),
        };
        let was_silent = before.as_ref().and_then(Tried::silent).is_some();
        let edge = |detection: &mut Detection<'_>, silent: &Tried, other: &Tried| {
            edge(detection, number, silent.metres, other.metres, is_cable)
        };
        match (own.silent(), &before) {
            (Some((nearest, share)), before) => {
                let from = match before {
                    Some(before) if !was_silent => edge(detection, &own, before),
                    Some(before) => before.metres,
                    None => own.metres,
                };
                add(
                    found,
                    CutStretch {
                        from,
                        to: own.metres,
                        at: own.metres,
                        nearest,
                        share,
                    },
                );
            }
            (None, Some(before)) if was_silent => {
                let to = edge(detection, before, &own);
                if let Some(last) = found.last_mut() {
                    last.to = to;
                }
            }
            (None, _) => {}
        }
        before = Some(own);
    }
    found.retain(|stretch| stretch.to - stretch.from >= NEAR);
}

/// The place from which on cuts are reported, between one of which none is and one of which it is. In a pipe holes are made at some places only,
/// and the middle is taken.
fn edge(detection: &mut Detection<'_>, line: usize, silent: f64, reported: f64, is_cable: bool) -> f64 {
    let (mut silent, mut reported) = (silent, reported);
    while is_cable && (reported - silent).abs() > NEAR {
        let metres = f64::midpoint(silent, reported);
        let cut = detection.cut(line, metres);
        if (Tried { metres, cut }).silent().is_some() {
            silent = metres;
        } else {
            reported = metres;
        }
    }
    f64::midpoint(silent, reported)
}

/// Adds a stretch, or prolongs the one before it.
fn add(found: &mut Vec<CutStretch>, stretch: CutStretch) {
    match found.last_mut() {
        Some(last) if stretch.from - last.to <= NEAR => {
            last.to = stretch.to;
            if stretch.share < last.share {
                (last.at, last.nearest, last.share) = (stretch.at, stretch.nearest, stretch.share);
            }
        }
        _ => found.push(stretch),
    }
}
