//! Display resolution of computed pressures and flows.

use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::{UnitPreferences, rounded};

use super::record::SensorRecord;

/// Significant digits of a figure below the resolution of the office's sensors.
const SMALL: i32 = 2;

/// The units of an office, and the finest resolution of its sensors: further digits cannot be compared with a reading.
pub(super) struct DisplayResolution<'u> {
    pub(super) units: &'u UnitPreferences,
    pressure: Option<f64>,
    flow: Option<f64>,
}

impl<'u> DisplayResolution<'u> {
    pub(super) fn of(sensors: &[SensorRecord], units: &'u UnitPreferences) -> Self {
        let finest = |unit: &str| {
            let steps = sensors.iter().filter(|sensor| sensor.unit == unit);
            steps.filter_map(|sensor| sensor.step).reduce(f64::min)
        };
        Self {
            units,
            pressure: finest("Pa"),
            flow: finest("m3/s"),
        }
    }

    /// Formats a pressure or pressure difference, given in pascals.
    pub(super) fn pressure(&self, pascals: f64) -> String {
        self.show(Dimension::Pressure, pascals, self.pressure)
    }

    /// Formats a flow, given in m³/s.
    pub(super) fn flow(&self, flow: f64) -> String {
        self.show(Dimension::Flow, flow, self.flow)
    }

    /// Formats a pressure, or a dash for `None`.
    pub(super) fn pressure_or_dash(&self, pascals: Option<f64>) -> String {
        pascals.map_or_else(|| "-".to_owned(), |pascals| self.pressure(pascals))
    }

    /// Formats a flow, or a dash for `None`.
    pub(super) fn flow_or_dash(&self, flow: Option<f64>) -> String {
        flow.map_or_else(|| "-".to_owned(), |flow| self.flow(flow))
    }

    fn show(&self, dimension: Dimension, si: f64, step: Option<f64>) -> String {
        // A drop of a thousandth of a psi must not be shown as zero, nor a margin missed by that much.
        let is_small = step.is_some_and(|step| si.abs() < step);
        match self.units.unit(dimension).filter(|_| is_small) {
            Some(unit) => {
                let value = unit.from_si(si);
                rounded(Quantity { value, unit }).to_digits(SMALL).to_string()
            }
            None => self.units.show_reading(dimension, si, step),
        }
    }
}
