//! Water vapour in the air, anywhere in a system.

use drysheath_engineering::measure::{AbsolutePressure, Temperature};
use drysheath_engineering::moisture::{SaturationPoint, Surface, saturation_pressure};
use drysheath_office::kinds::{DewPointSurface, Key};
use drysheath_office::{Fields, GivenQuantity, NAME_SEPARATOR, Office, ThingId};

/// Water vapour in the air that a dryer delivers.
#[derive(Clone, Copy, Debug)]
pub struct Dryness {
    /// The dryer that delivers the air.
    pub dryer: ThingId,
    /// Index among the neighbours of the office that the dryer is in. `None` for a dryer of this office.
    pub neighbour: Option<usize>,
    /// Dew point as stated.
    pub dew_point: GivenQuantity,
    /// The surface that the dew point refers to. Where the file does not state one, water: WMO-No. 8 uses it at any
    /// temperature.
    pub surface: Surface,
    /// Pressure that the dew point is stated at.
    pub at: AbsolutePressure,
    /// Vapour pressure over total pressure: independent of pressure as long as nothing condenses.
    pub vapour_part: f64,
}

impl Dryness {
    /// The dryness of a dryer's air. `None` where the file does not state it.
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
            neighbour: None,
            dew_point,
            surface,
            at,
            vapour_part: vapour.pascals() / at.pascals(),
        })
    }

    /// The dryness of the air of a dryer in another office; `neighbour` is the index of that office among the
    /// neighbours.
    pub fn elsewhere(office: &Office, neighbour: usize, dryer: ThingId) -> Option<Self> {
        let dryness = Self::of(office.neighbours.get(neighbour)?, dryer)?;
        Some(Self {
            neighbour: Some(neighbour),
            ..dryness
        })
    }

    /// The office that the dryer is in.
    pub fn office<'o>(&self, office: &'o Office) -> &'o Office {
        let neighbour = self.neighbour.and_then(|number| office.neighbours.get(number));
        neighbour.map_or(office, |other| other)
    }

    /// Name of the dryer in `office`: `d1`, or `oak/d1` for a dryer in another office.
    pub fn dryer_name(&self, office: &Office) -> String {
        let other = self.office(office);
        let name = other.name(self.dryer);
        match self.neighbour {
            Some(_) => format!("{}{NAME_SEPARATOR}{name}", other.itself.map_or("", |id| other.name(id))),
            None => name.to_owned(),
        }
    }

    /// Vapour pressure at a total pressure.
    pub fn vapour(&self, total: AbsolutePressure) -> AbsolutePressure {
        total * self.vapour_part
    }

    /// Temperature at which the air is saturated at a total pressure: frost point below 0 °C, dew point above.
    pub fn saturation_point(&self, total: AbsolutePressure) -> Option<SaturationPoint> {
        SaturationPoint::of(self.vapour(total))
    }
}
