//! Capacity of a dryer, at the standard conditions that all flows use.

use drysheath_engineering::atmosphere::isa_pressure;
use drysheath_engineering::compressor::{self, Cycle};
use drysheath_engineering::measure::{Flow, Length, Pressure, Temperature, Volume};
use drysheath_engineering::standard::StandardConditions;
use drysheath_office::kinds::{Compressor, Key};
use drysheath_office::{Fields, GivenQuantity, Office, ThingId};

/// A dryer's capacity, and the figures that it is computed from.
#[derive(Clone, Copy, Debug)]
pub struct Capacity {
    /// Capacity at this office, at 101 325 Pa and 60 °F.
    pub flow: Flow,
    /// The capacity as its maker states it.
    pub stated: GivenQuantity,
    /// Factor from the maker's unit of volume to standard volume; 1 where the unit itself states its standard
    /// conditions.
    pub basis: f64,
    /// Pressure of the air around the office over that at the elevation that the capacity holds for: a compressor takes
    /// in the same volume everywhere, and so less air higher up \[derived\]. 1 for sources without a compressor.
    pub altitude: f64,
}

/// Duty cycle of a dryer's compressor at the usage `used`. `None` where the dryer does not state what its tank holds
/// between two pressures, where it has no compressor, and where there is no cycle.
pub fn cycle(office: &Office, dryer: ThingId, used: Flow) -> Option<Cycle> {
    let thing = office.thing(dryer);
    if thing.choice(Key::Compressor) == Some(Compressor::None) {
        return None;
    }
    let gauge = |key| Some(office.gauge_pascals(thing.quantity(key)?.0));
    let between = Pressure::from_pascals(gauge(Key::CutOut)? - gauge(Key::CutIn)?);
    let volume = Volume::of(thing.quantity(Key::Volume)?.0)?;
    let temperature = Temperature::of(office.given(office.itself?, Key::AirTemperature)?.quantity)?;
    compressor::cycle(volume, between, temperature, capacity(office, dryer)?.flow, used)
}

/// Capacity of a dryer. `None` where it is not stated.
pub fn capacity(office: &Office, dryer: ThingId) -> Option<Capacity> {
    let thing = office.thing(dryer);
    let stated = office.given(dryer, Key::Capacity)?;
    let written = Flow::of(stated.quantity)?;
    let pressure = office.absolute(office.given(dryer, Key::RatingPressure)?.quantity);
    let temperature = Temperature::of(office.given(dryer, Key::RatingTemperature)?.quantity)?;
    let basis = if stated.quantity.unit.counts_at_its_own() {
        1.0
    } else {
        StandardConditions::new(pressure, temperature)?.factor() / office.standard.standard.factor()
    };
    let elevation = Length::of(office.given(dryer, Key::RatingElevation)?.quantity)?;
    let altitude = if thing.choice(Key::Compressor) == Some(Compressor::None) {
        1.0
    } else {
        office.atmosphere().pascals() / isa_pressure(elevation).pascals()
    };
    Some(Capacity {
        flow: written * (basis * altitude),
        stated,
        basis,
        altitude,
    })
}
