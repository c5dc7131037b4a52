//! The limit that comes nearest to reporting a leak or cut, for messages.

use drysheath_engineering::units::Dimension;
use drysheath_prediction::{Line, Watcher};
use drysheath_text::Place;

use super::location_text::distance;
use super::reading::Reading;
use crate::figures::{below, computed, difference, in_unit_of};
use crate::lint::Inspection;

/// The nearest limit, and the reading of its sensor with the leak or cut, as `Office::figure` returns it.
pub(super) struct NearestLimit<'i, 'o> {
    pub signal: Option<Reading<'i>>,
    inspection: &'i Inspection<'o>,
    watcher: Watcher,
    reading: f64,
}

impl<'i, 'o> NearestLimit<'i, 'o> {
    pub fn new(inspection: &'i Inspection<'o>, watcher: Watcher, reading: f64) -> Self {
        Self {
            signal: Reading::of_watcher(inspection, &watcher),
            inspection,
            watcher,
            reading,
        }
    }

    /// Name of its sensor in messages.
    pub fn sensor(&self) -> String {
        let name = || format!("`{}`", self.inspection.office.name(self.watcher.thing));
        self.signal.map_or_else(name, |signal| signal.name())
    }

    /// Name of the limit: "the low limit of `ps1`".
    pub fn name(&self) -> String {
        format!("the {} limit of {}", self.watcher.level.word(), self.sensor())
    }

    pub fn is_flow(&self) -> bool {
        self.watcher.limit.0.dimension() == Dimension::Flow
    }

    /// Place of the limit in the file.
    pub fn written_at(&self) -> Place {
        self.watcher.limit.1
    }

    /// A clause: "at 2 km `ps1` reads 8.9 psi, 9.3 psi before, and its low limit of 8.5 psi with an error of 0.3 psi
    /// comes nearest".
    pub fn reads(&self, line: &Line, metres: f64) -> String {
        let Watcher {
            limit: (limit, _),
            error,
            ..
        } = self.watcher;
        let shown = |figure| match &self.signal {
            Some(signal) => signal.shown(limit, figure),
            None => computed(limit, figure, self.inspection.office),
        };
        let (well, then) = (shown(self.watcher.normal), shown(self.reading));
        let place = self.place(line, metres);
        let sensor = self.sensor();
        let reads = if well == then {
            format!("{place} {sensor} still reads {then}")
        } else {
            format!("{place} {sensor} reads {then}, {well} before")
        };
        let error = if error > 0.0 {
            format!(" with an error of {}", difference(limit, error))
        } else {
            String::new()
        };
        let level = self.watcher.level.word();
        format!("{reads}, and its {level} limit of {limit}{error} comes nearest")
    }

    /// Formats the place: "at 3.2 km".
    fn place(&self, line: &Line, metres: f64) -> String {
        const NEAR: f64 = 1.0;
        match line.length() {
            Some(length) if length - metres < NEAR => "at the end".to_owned(),
            _ => format!("at {}", distance(self.inspection, line, metres)),
        }
    }

    /// A limit that would report it: "a low limit of about 8.9 psi at `ps1`", halfway between the normal reading and
    /// that with the leak or cut. `None` where the sensor's error leaves no room between them.
    pub fn reported_by(&self) -> Option<String> {
        let Watcher {
            limit: (limit, _),
            normal,
            error,
            level,
            ..
        } = self.watcher;
        let room = (self.reading - normal).abs() - 2.0 * error;
        let figure = f64::midpoint(normal, self.reading);
        let is_past = if level.is_low() {
            below(figure, normal)
        } else {
            below(normal, figure)
        };
        let is_told = below(0.0, room) && is_past;
        is_told.then(|| {
            let figure = in_unit_of(limit, figure, self.inspection.office).to_digits(3);
            format!("a {} limit of about {figure} at {}", level.word(), self.sensor())
        })
    }
}
