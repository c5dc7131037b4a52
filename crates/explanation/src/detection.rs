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
        let size = |place: &PlaceDetection| {
            let leak = place.smallest.map(|reported| reported.leak.cubic_metres_per_second());
            leak.unwrap_or(f64::INFINITY)
        };
        self.places
            .iter()
            .reduce(|worst, place| if size(place) > size(worst) { place } else { worst })
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
        let found = lines.map(|(number, line)| LineDetection {
            line,
            places: detection
                .places(number)
                .into_iter()
                .filter(|metres| air.pressure_along(line, *metres).is_some())
                .filter_map(|metres| place(&mut detection, number, metres))
                .collect(),
            why_unknown: detection.why_unknown(number).map(|(_, why)| Arc::clone(why)),
        });
        let is_about_something = |line: &LineDetection<'_>| !line.places.is_empty() || line.why_unknown.is_some();
        found.filter(is_about_something).collect()
    }
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
