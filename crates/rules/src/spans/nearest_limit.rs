//! The limit that comes nearest to reporting a leak or a cut, in messages.

use drysheath_engineering::units::Dimension;
use drysheath_prediction::{Line, Watcher};
use drysheath_text::Place;

use super::reading::Reading;
use super::stretch::distance;
use crate::figures::{below, computed, difference, in_unit_of};
use crate::lint::Inspection;

/// The limit that comes nearest, and what its sensor reads with the leak or cut, in the unit of `Office::figure`.
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

    /// Its sensor, as messages name it.
    pub fn sensor(&self) -> String {
        let name = || format!("`{}`", self.inspection.office.name(self.watcher.thing));
        self.signal.map_or_else(name, |signal| signal.name())
    }

    /// "the low limit of `ps1`".
    pub fn name(&self) -> String {
        format!("the {} limit of {}", self.watcher.level.word(), self.sensor())
    }

    pub fn is_flow(&self) -> bool {
        self.watcher.limit.0.dimension() == Dimension::Flow
    }

    /// Where the file states it.
    pub fn written_at(&self) -> Place {
        self.watcher.limit.1
    }

    /// "at 2 km `ps1` reads 8.9 psi, 9.3 psi before, and its low limit of 8.5 psi with an error of 0.3 psi comes nearest".
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

    /// "at 3.2 km".
    fn place(&self, line: &Line, metres: f64) -> String {
        const NEAR: f64 = 1.0;
        match line.length() {
            Some(length) if length - metres < NEAR => "at the end".to_owned(),
            _ => format!("at {}", distance(self.inspection, line, metres)),
        }
    }

    /// "a low limit of about 8.9 psi at `ps1`": one that the sensor's reading surely passes then and surely does not when all is well, half way
    /// between. None where it may err by more than that.
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
