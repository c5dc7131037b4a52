//! The stretches of a cable or pipe on which a hole surely trips no limit of an office: the search that leaks and cuts share.
//!
//! Holes are made in the network of [`Detection`], with leakage that follows the pressure, as `predict` does. Along a line that air comes to from
//! one side, between two places with neither a joint nor a sensor between them, what a leak does to one sensor only rises, only falls, or first
//! rises and then falls: it loses less the farther out it is, and stands behind more of what lies before it. So a limit that is tripped from both
//! ends is tripped from everywhere between them. Where that is not so, the quarters between are looked at too.

use drysheath_engineering::network::Hole;
use drysheath_prediction::{Air, AirLocation, Detection, HoleEffect, Line, WatcherId};

use super::location_text::NEAR;
use super::nearest_limit::NearestLimit;
use crate::lint::Inspection;

/// A stretch of a line on which a hole surely trips no limit, in metres.
pub(super) struct UndetectedInterval {
    pub from: f64,
    pub to: f64,
    /// The place in it where the limits are farthest from telling.
    pub at: f64,
    /// The limit that comes nearest with a hole there, and what its sensor reads. None where the air system has no such limit.
    pub nearest: Option<(WatcherId, f64)>,
    share: f64,
}

/// A place of a line, and what a hole there does. None where that is not known.
struct TriedHole {
    metres: f64,
    effect: Option<HoleEffect>,
}

/// The limit that comes nearest to a hole on a stretch. None where the air system has none that a hole could trip.
pub(super) fn nearest<'i, 'o>(
    inspection: &'i Inspection<'o>,
    stretch: &UndetectedInterval,
) -> Option<NearestLimit<'i, 'o>> {
    let (watcher, reading) = stretch.nearest?;
    let watcher = inspection.detection()?.borrow().watchers[watcher];
    Some(NearestLimit::new(inspection, watcher, reading))
}

/// Whether a hole at a distance along a line, by its number among those of the air, surely trips a limit. None where that is not known.
pub(super) fn trips(inspection: &Inspection<'_>, line: usize, metres: f64, hole: Hole) -> Option<bool> {
    let mut detection = inspection.detection()?.borrow_mut();
    Some(detection.predicted(line, metres, hole)?.is_reported())
}

/// The stretches within some of a line, by its number among those of the air, on which a hole surely trips no limit.
pub(super) fn undetected(
    inspection: &Inspection<'_>,
    (number, line): (usize, &Line),
    hole: Hole,
    within: &[(f64, f64)],
) -> Vec<UndetectedInterval> {
    /// Less than any section loses, m³/s.
    const NOTHING: f64 = 1e-9;
    let Some(detection) = inspection.detection() else {
        return Vec::new();
    };
    let detection = &mut *detection.borrow_mut();
    let air = &inspection.prediction.air;
    let last = line.length().and_then(|length| air.flow_along(line, length));
    let Some(is_watched) = detection.is_watched(number) else {
        return Vec::new();
    };
    let mut scan = HoleScan {
        is_watched,
        ends_there: last.is_some_and(|flow| flow.cubic_metres_per_second().abs() < NOTHING),
        is_cable: detection.is_cable(line),
        marks: detection.marks(number),
        detection,
        line: number,
        hole,
        found: Vec::new(),
    };
    for stretch in within {
        scan.scan_interval(*stretch);
    }
    let mut found = scan.found;
    found.retain(|stretch| stretch.to - stretch.from >= NEAR);
    for stretch in &mut found {
        // What results show is computed, not foretold.
        if let Some(effect) = detection.effect(number, stretch.at, hole) {
            stretch.nearest = effect.nearest;
        }
    }
    found
}

/// The stretches of a line of which the pressure is known at both ends, and that are wanted.
pub(super) fn known(air: &Air, line: &Line, is_wanted: impl Fn((f64, f64)) -> bool) -> Vec<(f64, f64)> {
    let mut known: Vec<(f64, f64)> = Vec::new();
    for (from, to, _) in air.segments(line) {
        let is_known = |metres| air.pressure(&AirLocation::OnLine(line, metres)).is_some();
        if is_known(from) && is_known(to) && is_wanted((from, to)) {
            match known.last_mut().filter(|last| from - last.1 < NEAR) {
                Some(last) => last.1 = to,
                None => known.push((from, to)),
            }
        }
    }
    known
}

/// A search along one line.
struct HoleScan<'s, 'o> {
    detection: &'s mut Detection<'o>,
    line: usize,
    hole: Hole,
    marks: Vec<f64>,
    is_cable: bool,
    is_watched: bool,
    /// Whether no air leaves the line at its end, nor comes in by it.
    ends_there: bool,
    found: Vec<UndetectedInterval>,
}

impl HoleScan<'_, '_> {
    fn scan_interval(&mut self, (from, to): (f64, f64)) {
        if !self.is_watched {
            self.add(UndetectedInterval {
                from,
                to,
                at: to,
                nearest: None,
                share: 0.0,
            });
            return;
        }
        let within = |mark: &f64| (from - NEAR..=to + NEAR).contains(mark);
        let marks: Vec<f64> = self.marks.iter().copied().filter(within).collect();
        let tried: Vec<TriedHole> = marks.into_iter().map(|metres| self.make(metres)).collect();
        for ends in tried.windows(2) {
            if let [from, to] = ends {
                self.between(from, to, true);
            }
        }
    }

    fn make(&mut self, metres: f64) -> TriedHole {
        TriedHole {
            metres,
            effect: self.detection.predicted(self.line, metres, self.hole),
        }
    }

    /// Adds what is silent between two places. In a pipe holes are made at its pieces only.
    fn between(&mut self, from: &TriedHole, to: &TriedHole, is_whole: bool) {
        let (Some(near), Some(far)) = (&from.effect, &to.effect) else {
            return;
        };
        let can_part = self.is_cable && to.metres - from.metres > NEAR;
        let is_common = near.tripped.iter().any(|limit| far.tripped.contains(limit));
        if is_common && (self.ends_there || !is_whole) {
            return;
        }
        if is_whole && can_part && self.parts(from, to, &[0.25, 0.5, 0.75]) {
            return;
        }
        match (near.is_reported(), far.is_reported()) {
            (true, true) => {
                if can_part && !is_common {
                    self.parts(from, to, &[0.5]);
                }
            }
            (false, false) => {
                let (at, effect) = if far.share < near.share {
                    (to.metres, far)
                } else {
                    (from.metres, near)
                };
                self.add(UndetectedInterval {
                    from: from.metres,
                    to: to.metres,
                    at,
                    nearest: effect.nearest,
                    share: effect.share,
                });
            }
            (is_near_reported, _) => {
                let edge = if can_part {
                    self.edge(from, to)
                } else {
                    f64::midpoint(from.metres, to.metres)
                };
                let (from, to, at, effect) = if is_near_reported {
                    (edge, to.metres, to.metres, far)
                } else {
                    (from.metres, edge, from.metres, near)
                };
                self.add(UndetectedInterval {
                    from,
                    to,
                    at,
                    nearest: effect.nearest,
                    share: effect.share,
                });
            }
        }
    }

    /// Looks at the parts between two places. False where what a hole does between them is not known.
    fn parts(&mut self, from: &TriedHole, to: &TriedHole, parts: &[f64]) -> bool {
        let made = parts.iter().map(|part| from.metres + part * (to.metres - from.metres));
        let made: Vec<TriedHole> = made.map(|metres| self.make(metres)).collect();
        if made.iter().any(|tried| tried.effect.is_none()) {
            return false;
        }
        let mut before = from;
        for next in made.iter().chain([to]) {
            self.between(before, next, false);
            before = next;
        }
        true
    }

    /// The place between two from which on a hole trips a limit, by the rule of false position. An end that stays counts half (the Illinois rule), so
    /// that both come nearer.
    fn edge(&mut self, from: &TriedHole, to: &TriedHole) -> f64 {
        /// How near to 1 the share is at the edge.
        const CLOSE: f64 = 1e-3;
        const TRIES: usize = 20;
        let beyond = |tried: &TriedHole| tried.effect.as_ref().map_or(0.0, |effect| effect.share - 1.0);
        let (mut near, mut far) = ((from.metres, beyond(from)), (to.metres, beyond(to)));
        let mut was_near = None;
        for _ in 0..TRIES {
            let metres = near.0 + (far.0 - near.0) * near.1 / (near.1 - far.1);
            let Some(effect) = self.detection.effect(self.line, metres, self.hole) else {
                break;
            };
            let share = effect.share - 1.0;
            if share.abs() < CLOSE || far.0 - near.0 < NEAR {
                return metres;
            }
            let is_near = (share > 0.0) == (near.1 > 0.0);
            let stays = was_near.replace(is_near) == Some(is_near);
            let (moved, other) = if is_near {
                (&mut near, &mut far)
            } else {
                (&mut far, &mut near)
            };
            *moved = (metres, share);
            if stays {
                other.1 *= 0.5;
            }
        }
        f64::midpoint(near.0, far.0)
    }

    /// Adds a stretch, or prolongs the one before it.
    fn add(&mut self, stretch: UndetectedInterval) {
        match self.found.last_mut() {
            Some(last) if stretch.from - last.to <= NEAR => {
                last.to = stretch.to;
                if stretch.share < last.share {
                    (last.at, last.nearest, last.share) = (stretch.at, stretch.nearest, stretch.share);
                }
            }
            _ => self.found.push(stretch),
        }
    }
}
