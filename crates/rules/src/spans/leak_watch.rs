//! Which limits of an office a leak trips, place by place along its cables and pipes.

use std::cell::{Cell, OnceCell};

use drysheath_engineering::index::IndexVec;
use drysheath_engineering::measure::Flow;
use drysheath_prediction::{AirLocation, Line, TreePlace};

use super::stretch::NEAR;
use super::watch::{Watch, Watcher, WatcherIndex};

/// The limits of an air system with a leak of one size, which is tried at places.
pub(super) struct LeakWatch<'i> {
    watch: Watch<'i>,
    leak: Flow,
    /// The number of the watcher that was the last to trip from both ends of a stretch.
    last: Cell<usize>,
}

/// A stretch of a line on which the leak trips no limit, in metres.
pub(super) struct Stretch {
    pub from: f64,
    pub to: f64,
    /// The limit that comes nearest to it, at the place on the stretch where that says least.
    pub nearest: Option<Nearest>,
}

/// The limit that a leak comes nearest to.
#[derive(Clone, Copy)]
pub(super) struct Nearest {
    /// Which of the watchers it is.
    pub watcher: WatcherIndex,
    /// The reading with the leak.
    pub with_leak: f64,
    /// The part of the way from the reading when all is well to the limit.
    share: f64,
}

/// A place of a leak, with what is computed for it.
struct Leaking<'i> {
    metres: f64,
    location: AirLocation<'i>,
    on_tree: Option<OnTree>,
    /// The reading of each watcher with the leak there.
    readings: OnceCell<Option<Readings>>,
}

/// What each watcher reads. None where that is not known.
type Readings = IndexVec<WatcherIndex, Option<f64>>;

/// A place of a leak on the paths of air.
struct OnTree {
    place: TreePlace,
    /// Whether the network can feed the whole leak there.
    is_fed: bool,
}

impl<'i> LeakWatch<'i> {
    pub fn new(watch: Watch<'i>, leak: Flow) -> Self {
        Self {
            watch,
            leak,
            last: Cell::new(0),
        }
    }

    /// The limits and paths of air that it looks at.
    pub fn of_system(&self) -> &Watch<'i> {
        &self.watch
    }

    /// The limits that it looks at.
    pub fn watchers(&self) -> &IndexVec<WatcherIndex, Watcher<'i>> {
        &self.watch.watchers
    }

    /// The stretches of a line on which the leak trips no limit.
    ///
    /// Between two places without a joint or a sensor between them, the pressure that the leak takes away at a sensor rises or
    /// falls all the way: in the squared pressures it is linear. So a limit that is tripped from both ends is tripped from
    /// everywhere between them.
    pub fn silent(&self, line: &'i Line) -> Vec<Stretch> {
        let mut metres: Vec<f64> = self
            .watch
            .air
            .segments(line)
            .flat_map(|(from, to, _)| [from, to])
            .collect();
        metres.extend(self.watch.watchers.iter().filter_map(|watcher| match watcher.location {
            AirLocation::OnLine(of, metres) if std::ptr::eq(of, line) => Some(metres),
            _ => None,
        }));
        metres.sort_by(f64::total_cmp);
        metres.dedup_by(|later, earlier| *later - *earlier < NEAR);
        let places: Vec<_> = metres.into_iter().map(|metres| self.leaking(line, metres)).collect();
        let mut found = Vec::new();
        for ends in places.windows(2) {
            if let [from, to] = ends
                && [from, to]
                    .iter()
                    .all(|end| self.watch.air.pressure(&end.location).is_some())
            {
                self.search(line, from, to, &mut found);
            }
        }
        found
    }

    fn leaking(&self, line: &'i Line, metres: f64) -> Leaking<'i> {
        let location = AirLocation::OnLine(line, metres);
        let on_tree = self.watch.tree.as_ref().and_then(|(tree, _)| {
            let place = tree.place(&location)?;
            let is_fed = tree.at_most(&place, self.leak, &place)?.pascals() >= 0.0;
            Some(OnTree { place, is_fed })
        });
        Leaking {
            metres,
            location,
            on_tree,
            readings: OnceCell::new(),
        }
    }

    fn search(&self, line: &'i Line, from: &Leaking<'i>, to: &Leaking<'i>, found: &mut Vec<Stretch>) {
        let trips_both = |watcher: &WatcherIndex| self.surely_trips(*watcher, from) && self.surely_trips(*watcher, to);
        // Most likely it is the same as on the stretch before, or one of those that follow it along the line.
        let last = self.last.get();
        let (before, after) = (0..last, last..self.watch.watchers.len());
        if let Some(watcher) = after.chain(before).map(WatcherIndex::from).find(trips_both) {
            self.last.set(watcher.into());
            return;
        }
        // What cannot be fed in full changes a flow less the farther out it is.
        if let Some(last) = self.last_fed(line, from, to) {
            self.search(line, from, &last, found);
            self.search(line, &last, to, found);
            return;
        }
        let Some((near, far)) = self.readings(from).zip(self.readings(to)) else {
            return;
        };
        let trips =
            |watcher: &Watcher<'_>, figure: &Option<f64>| figure.is_some_and(|figure| watcher.is_tripped_by(figure));
        let tripped = || self.watch.watchers.iter().zip(near.iter().zip(far.iter()));
        if tripped().any(|(watcher, (near, far))| trips(watcher, near) && trips(watcher, far)) {
            return;
        }
        if !tripped().any(|(watcher, (near, far))| trips(watcher, near) || trips(watcher, far)) {
            let nearest = [near, far].into_iter().filter_map(|readings| self.nearest(readings));
            add(
                found,
                Stretch {
                    from: from.metres,
                    to: to.metres,
                    nearest: nearest.min_by(|one, other| one.share.total_cmp(&other.share)),
                },
            );
            return;
        }
        if to.metres - from.metres > NEAR {
            let middle = self.leaking(line, f64::midpoint(from.metres, to.metres));
            self.search(line, from, &middle, found);
            self.search(line, &middle, to, found);
        }
    }

    /// The last place between two that can feed the whole leak, where one end can and the other cannot. None right at an end.
    fn last_fed(&self, line: &'i Line, from: &Leaking<'i>, to: &Leaking<'i>) -> Option<Leaking<'i>> {
        let is_fed = |leaking: &Leaking<'_>| leaking.on_tree.as_ref().map(|on_tree| on_tree.is_fed);
        let (near, far) = (is_fed(from)?, is_fed(to)?);
        if near == far {
            return None;
        }
        let (mut fed, mut unfed) = if near {
            (from.metres, to.metres)
        } else {
            (to.metres, from.metres)
        };
        let mut last = None;
        while (unfed - fed).abs() > NEAR / 2.0 {
            let middle = self.leaking(line, f64::midpoint(fed, unfed));
            if is_fed(&middle)? {
                fed = middle.metres;
                last = Some(middle);
            } else {
                unfed = middle.metres;
            }
        }
        last.filter(|last| {
            let end = if near { from } else { to };
            (last.metres - end.metres).abs() > NEAR
        })
    }

    /// Whether a leak certainly trips a limit, as far as that follows without computing the network again.
    fn surely_trips(&self, watcher: WatcherIndex, leaking: &Leaking<'_>) -> bool {
        let Some(((tree, places), leak)) = self.watch.tree.as_ref().zip(leaking.on_tree.as_ref()) else {
            return false;
        };
        let Some(place) = &places[watcher] else {
            return false;
        };
        let watcher = &self.watch.watchers[watcher];
        if watcher.is_flow() {
            let AirLocation::Thing(sensor) = watcher.location else {
                return false;
            };
            let with_leak = watcher.expected + self.leak.cubic_metres_per_second();
            leak.is_fed && watcher.is_tripped_by(with_leak) && tree.passes(&leak.place, sensor)
        } else if leak.is_fed {
            let most = tree.at_most(place, self.leak, &leak.place);
            most.is_some_and(|pressure| watcher.is_tripped_by(pressure.pascals()))
        } else {
            // Beyond a cable that is open there is no pressure.
            watcher.is_tripped_by(0.0) && tree.is_beyond(place, &leak.place)
        }
    }

    /// What each watcher reads with the leak at a place. None where that cannot be computed.
    fn readings<'l>(&self, leaking: &'l Leaking<'_>) -> Option<&'l Readings> {
        let readings = || {
            let network = self.watch.air.leaking(&leaking.location, self.leak)?;
            let reading = |watcher: &Watcher<'_>| {
                if watcher.is_flow() {
                    Some(network.flow_at(&watcher.location)?.cubic_metres_per_second())
                } else {
                    Some(network.pressure_at(&watcher.location)?.pascals())
                }
            };
            Some(self.watch.watchers.iter().map(reading).collect())
        };
        leaking.readings.get_or_init(readings).as_ref()
    }

    /// The watcher whose reading comes nearest to its limit.
    fn nearest(&self, readings: &Readings) -> Option<Nearest> {
        let shares = readings.enumerated().filter_map(|(at, figure)| {
            let (figure, watcher) = ((*figure)?, &self.watch.watchers[at]);
            let expected = watcher.expected;
            Some(Nearest {
                watcher: at,
                with_leak: figure,
                share: (expected - figure) / (expected - watcher.rung.figure),
            })
        });
        shares.max_by(|one, other| one.share.total_cmp(&other.share))
    }
}

/// Adds a stretch, or prolongs the one before it.
fn add(found: &mut Vec<Stretch>, stretch: Stretch) {
    if let Some(last) = found.last_mut()
        && stretch.from - last.to <= NEAR
    {
        last.to = stretch.to;
        if let Some(nearest) = stretch.nearest
            && last.nearest.is_none_or(|other| nearest.share < other.share)
        {
            last.nearest = Some(nearest);
        }
        return;
    }
    found.push(stretch);
}
