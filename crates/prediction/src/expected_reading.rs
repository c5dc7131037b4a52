//! The reading that a sensor should give.

use drysheath_engineering::measure::{AbsolutePressure, Flow, Pressure, RelativeHumidity};
use drysheath_engineering::moisture::{SaturationPoint, Surface, relative_humidity};
use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::KindId;
use drysheath_office::{Networks, Office, ThingId};

use crate::air::AirLocation;
use crate::dryness::Dryness;
use crate::prediction::Prediction;

/// The reading that a sensor should give in the normal state.
#[derive(Clone, Copy, Debug)]
pub enum ExpectedReading {
    /// A pressure above that of the surrounding air.
    Pressure(Pressure),
    /// Flow through the sensor, or along the cable at its location.
    Flow(Flow),
    /// Relative humidity at the pressure and temperature of the air at the sensor.
    Humidity(RelativeHumidity),
    /// Dew point over water, at the pressure of the air at the sensor.
    DewPoint(SaturationPoint),
}

impl ExpectedReading {
    /// The value in SI units, comparable with [`Office::figure`] of a quantity.
    pub fn figure(self) -> f64 {
        match self {
            Self::Pressure(pressure) => pressure.pascals(),
            Self::Flow(flow) => flow.cubic_metres_per_second(),
            Self::Humidity(humidity) => humidity.fraction(),
            Self::DewPoint(point) => point.temperature.kelvins(),
        }
    }
}

impl Prediction {
    /// The reading that a signal of a sensor should give; `dimension` selects the signal. `None` where it cannot be
    /// computed, and for a sensor in another office, which that office computes for its own ambient air.
    pub fn expected_reading(
        &self,
        office: &Office,
        networks: &Networks,
        sensor: ThingId,
        dimension: Dimension,
    ) -> Option<ExpectedReading> {
        if !office.has(sensor) {
            return None;
        }
        let place = self.air.location_of(office, networks, sensor)?;
        match dimension {
            // The contact of a bottle reports its remaining content, upstream of its regulator.
            Dimension::Pressure if office.thing(sensor).is(KindId::Bottle) => None,
            Dimension::Pressure => self.air.pressure(&place).map(ExpectedReading::Pressure),
            Dimension::Flow => self.air.flow(&place).map(ExpectedReading::Flow),
            Dimension::Humidity => {
                let (vapour, _) = self.vapour(&place)?;
                let humidity = relative_humidity(vapour, self.air.conditions.temperature);
                Some(ExpectedReading::Humidity(humidity))
            }
            Dimension::Temperature => {
                let (vapour, _) = self.vapour(&place)?;
                SaturationPoint::over(vapour, Surface::Water).map(ExpectedReading::DewPoint)
            }
            _ => None,
        }
    }

    /// Vapour pressure at a place, for the air of the wettest dryer of its system.
    pub fn vapour(&self, place: &AirLocation<'_>) -> Option<(AbsolutePressure, &Dryness)> {
        let pressure = self.air.conditions.ambient + self.air.pressure(place)?;
        let dryness = self.dryness_of(self.air.system_at(place)?)?;
        Some((dryness.vapour(pressure), dryness))
    }
}
