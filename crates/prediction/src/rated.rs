//! Pressure ratings of things, and the highest pressure that they are exposed to.

use drysheath_engineering::measure::Pressure;
use drysheath_office::kinds::{Key, Kind, KindId};
use drysheath_office::{Fields as _, Networks, Office, Thing, ThingId};

use crate::air::{Air, AirLocation, SystemId};

/// The field in which a thing states its pressure rating. `None` if air does not reach such a thing.
pub fn rated_by(thing: &Thing) -> Option<Key> {
    let kind = thing.kind?;
    match kind.id {
        KindId::Regulator => Some(Key::InletMax),
        KindId::Valve | KindId::Filter | KindId::Tank | KindId::Manifold | KindId::Cable | KindId::AirPipe => {
            Some(Key::Rating)
        }
        // The rating of a switch is optional.
        KindId::PressureSwitch => thing.has(Key::Proof).then_some(Key::Proof),
        _ => Kind::is_sensor(kind).then_some(Key::Proof),
    }
}

impl Air {
    /// The highest gauge pressure at a thing, and its system.
    pub fn highest_at(&self, office: &Office, networks: &Networks, id: ThingId) -> Option<(SystemId, Pressure)> {
        let most = |one: &Pressure, other: &Pressure| one.pascals().total_cmp(&other.pascals());
        match office.thing(id).kind?.id {
            KindId::Cable | KindId::AirPipe => {
                let lines = self.lines().iter().filter(|line| line.thing == id);
                let pressures = lines
                    .filter_map(|line| self.highest(line))
                    .map(|(_, pressure)| pressure);
                Some((self.system_at(&AirLocation::Thing(id))?, pressures.max_by(most)?))
            }
            KindId::Valve | KindId::Filter | KindId::FlowSensor => {
                let ends = [self.inlet(id), self.outlet(id)].into_iter().flatten();
                Some((self.system_at(&AirLocation::Thing(id))?, ends.max_by(most)?))
            }
            _ => {
                let place = self.location_of(office, networks, id)?;
                Some((self.system_at(&place)?, self.pressure(&place)?))
            }
        }
    }
}
