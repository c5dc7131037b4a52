//! How dry the air is, anywhere in a system.

use drysheath_engineering::measure::{AbsolutePressure, Temperature};
use drysheath_engineering::moisture::{SaturationPoint, Surface, saturation_pressure};
use drysheath_office::kinds::{DewPointSurface, Key};
use drysheath_office::{Fields, Given, Office, ThingId};

/// The vapour in the air that a dryer delivers.
#[derive(Clone, Copy, Debug)]
pub struct Dryness {
    /// The dryer that delivers the air.
    pub dryer: ThingId,
    /// Its dew point, as stated.
    pub dew_point: Given,
    /// What that is over: where the file does not say, water, as WMO-No. 8 has it at any temperature.
    pub surface: Surface,
    /// The pressure that the dew point is stated at.
    pub at: AbsolutePressure,
    /// Vapour pressure over total pressure. The same at every pressure, as long as nothing condenses.
    pub vapour_part: f64,
}

impl Dryness {
    /// The dryness of a dryer's air; none where it does not say.
    pub fn of(office: &Office, dryer: ThingId) -> Option<Self> {
        let dew_point = office.given(dryer, Key::DewPoint)?;
        let temperature = Temperature::of(dew_point.quantity)?;
        let at = office.absolute(office.given(dryer, Key::Delivers)?.quantity);
        let surface = match office.thing(dryer).dew_point_surface(Key::DewPoint) {
            DewPointSurface::Water => Surface::Water,
            DewPointSurface::Ice => Surface::Ice,
        };
        let vapour = saturation_pressure(temperature, surface);
        (at.pascals() > 0.0).then(|| Self {
            dryer,
            dew_point,
            surface,
            at,
            vapour_part: vapour.pascals() / at.pascals(),
        })
    }

    /// Vapour pressure at a total pressure.
    pub fn vapour(&self, total: AbsolutePressure) -> AbsolutePressure {
        total * self.vapour_part
    }

    /// Where the air is saturated at a total pressure: frost below 0 °C, dew above.
    pub fn saturation_point(&self, total: AbsolutePressure) -> Option<SaturationPoint> {
        SaturationPoint::of(self.vapour(total))
    }
}
