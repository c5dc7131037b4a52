//! Which things air from the dryers reaches: along the arrows of the runs, and only through what is open.

use drysheath_engineering::index::IndexVec;

use super::links::{Links, Side};
use crate::kinds::{Key, KindId, Role, ValveFunction, ValvePosition};
use crate::model::{Office, Thing, ThingId};
use crate::value::Fields;

/// The sides of a thing that air reaches. They are the same for a thing that is open in both directions.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Reached {
    pub inlet: bool,
    pub outlet: bool,
}

impl Reached {
    pub fn at(self, outlet: bool) -> bool {
        if outlet { self.outlet } else { self.inlet }
    }

    fn side(&mut self, outlet: bool) -> &mut bool {
        if outlet { &mut self.outlet } else { &mut self.inlet }
    }
}

impl Side {
    /// Whether it is an outlet of its thing rather than an inlet or a place on the way.
    pub fn is_outlet(&self) -> bool {
        self.port.role == Role::Outlet
    }
}

/// Whether air passes a thing, from its inlet to its outlet or backwards. A thing with a part that could not be read may be
/// open.
pub fn lets_air(thing: &Thing, backwards: bool) -> bool {
    if thing.damaged {
        return true;
    }
    if thing.is(KindId::Regulator) {
        return !backwards;
    }
    if !thing.is(KindId::Valve) {
        return true;
    }
    let is_closed = thing.choice(Key::Stands) == Some(ValvePosition::Closed);
    let is_check = thing.choice(Key::Function) == Some(ValveFunction::Check);
    !(is_closed || is_check && backwards)
}

/// Where air from the dryers comes.
pub(super) fn reach(office: &Office, air: &Links, standing: &[(ThingId, ThingId)]) -> IndexVec<ThingId, Reached> {
    let mut reached = IndexVec::filled(Reached::default(), office.things.len());
    let mut open: Vec<(ThingId, bool)> = office.air_sources().map(|(id, _)| (id, true)).collect();
    while let Some((thing, outlet)) = open.pop() {
        if std::mem::replace(reached[thing].side(outlet), true) {
            continue;
        }
        if lets_air(office.thing(thing), outlet) {
            open.push((thing, !outlet));
        }
        let links = air.leaving(thing).filter(|link| link.from.is_outlet() == outlet);
        open.extend(links.map(|link| (link.to.thing, link.to.is_outlet())));
    }
    // What is located at a cable or pipe has its air.
    for (host, id) in standing {
        reached[*id].inlet |= reached[*host].inlet || reached[*host].outlet;
    }
    reached
}
