use std::sync::Arc;

use drysheath_engineering::measure::Flow;
use drysheath_office::kinds::Port;
use drysheath_office::{LimitLevel, ThingId};
use drysheath_prediction::{Detection, Line, StateError};

use crate::Explainer;

/// The leaks along a line that the limits of an office report.
#[derive(Clone, Debug)]
pub struct LineDetection<'e> {
    /// The cable, branch or pipe.
    pub line: &'e Line,
    /// The examined places, from the beginning of the line. None where nothing is known of holes in its air system.
    pub places: Vec<PlaceDetection>,
    /// Why nothing is known of them although pressures of the line are.
    pub why_unknown: Option<Arc<StateError>>,
}

/// The leaks at one place that are reported.
#[derive(Clone, Copy, Debug)]
pub struct PlaceDetection {
    /// Distance from the beginning of the line, m.
    pub metres: f64,
    /// The smallest leak that a limit reports for certain. `None` if not even a complete cut trips one.
    pub smallest: Option<DetectedLeak>,
}

/// A leak and the limit that it trips first.
#[derive(Clone, Copy, Debug)]
pub struct DetectedLeak {
    /// Flow of the leak at the normal pressure of its place.
    pub leak: Flow,
    /// The sensor, or the dryer with the contact.
    pub thing: ThingId,
    /// The signal whose limit it is: its port, and its number among those of the port.
    pub signal: (&'static Port, u32),
    /// Which of its limits.
    pub level: LimitLevel,
}

impl LineDetection<'_> {
    /// The place where the smallest reported leak is largest, or where none is reported.
    pub fn worst(&self) -> Option<&PlaceDetection> {
        self.places
            .iter()
            .reduce(|worst, place| if place.size() > worst.size() { place } else { worst })
    }
}

impl PlaceDetection {
    /// The smallest leak that is reported, m³/s; without end where none is.
    fn size(&self) -> f64 {
        let leak = self.smallest.map(|reported| reported.leak.cubic_metres_per_second());
        leak.unwrap_or(f64::INFINITY)
    }
}

impl<'e> Explainer<'e> {
    /// The reported leaks, line by line. Lines of which no normal pressure is known are left out.
    pub fn detection(&self) -> Vec<LineDetection<'e>> {
        self.detection_where(|_| true)
    }

    /// The reported leaks of one cable with its branches, or of a pipe.
    pub fn detection_of(&self, thing: ThingId) -> Vec<LineDetection<'e>> {
        self.detection_where(|line| line.thing == thing)
    }

    fn detection_where(&self, counts: impl Fn(&Line) -> bool) -> Vec<LineDetection<'e>> {
        let air = &self.prediction.air;
        let Some(mut detection) = air.detection(self.office, self.networks) else {
            return Vec::new();
        };
        let lines = air.lines().iter().enumerate().filter(|(_, line)| counts(line));
        let found = lines.map(|(number, line)| {
            let places = detection.places(number).into_iter();
            let places = places.filter(|metres| air.pressure_along(line, *metres).is_some());
            let places = places.filter_map(|metres| place(&mut detection, number, metres));
            let mut places: Vec<PlaceDetection> = places.collect();
            if detection.is_cable(line) {
                add_peaks(&mut detection, number, &mut places);
            }
            LineDetection {
                line,
                places,
                why_unknown: detection.why_unknown(number).map(|(_, why)| Arc::clone(why)),
            }
        });
        let is_about_something = |line: &LineDetection<'_>| !line.places.is_empty() || line.why_unknown.is_some();
        found.filter(is_about_something).collect()
    }
}

/// Adds the places where the smallest leak is largest between the examined ones: where a leak is as far from tripping one limit as another.
fn add_peaks(detection: &mut Detection<'_>, line: usize, places: &mut Vec<PlaceDetection>) {
    let size = |at: usize| places.get(at).map(PlaceDetection::size);
    let is_peak = |at: &usize| {
        let own = size(*at).filter(|own| own.is_finite());
        let neighbours = [at.checked_sub(1).and_then(size), size(at + 1)];
        own.is_some_and(|own| neighbours.into_iter().flatten().all(|other| other <= own))
    };
    let peaks: Vec<PlaceDetection> = (0..places.len())
        .filter(is_peak)
        .filter_map(|at| {
            let place = places.get(at)?;
            let metres = |at: usize| places.get(at).map(|place| place.metres);
            let from = at.checked_sub(1).and_then(metres).unwrap_or(place.metres);
            let to = metres(at + 1).unwrap_or(place.metres);
            peak(detection, line, *place, (from, to))
        })
        .collect();
    places.extend(peaks);
    places.sort_by(|one, other| one.metres.total_cmp(&other.metres));
}

/// The place between two with the largest smallest leak, by the golden section. None where it is not larger than the one between them that is known.
fn peak(
    detection: &mut Detection<'_>,
    line: usize,
    known: PlaceDetection,
    (mut from, mut to): (f64, f64),
) -> Option<PlaceDetection> {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    // From a half of a piece to a thousandth of that.
    const STEPS: u32 = 14;
    let mut near = place(detection, line, to - GOLDEN * (to - from))?;
    let mut far = place(detection, line, from + GOLDEN * (to - from))?;
    for _ in 0..STEPS {
        if near.size() > far.size() {
            to = far.metres;
            far = near;
            near = place(detection, line, to - GOLDEN * (to - from))?;
        } else {
            from = near.metres;
            near = far;
            far = place(detection, line, from + GOLDEN * (to - from))?;
        }
    }
    let found = if near.size() > far.size() { near } else { far };
    // Nobody measures a cable by less than a metre.
    let found = place(detection, line, found.metres.round())?;
    (found.size() > known.size() * (1.0 + 1e-3)).then_some(found)
}

fn place(detection: &mut Detection<'_>, line: usize, metres: f64) -> Option<PlaceDetection> {
    let found = detection.smallest(line, metres)?;
    let smallest = found.leak.map(|(leak, watcher)| {
        let watcher = &detection.watchers[watcher];
        DetectedLeak {
            leak,
            thing: watcher.thing,
            signal: (watcher.port, watcher.number),
            level: watcher.level,
        }
    });
    Some(PlaceDetection { metres, smallest })
}
