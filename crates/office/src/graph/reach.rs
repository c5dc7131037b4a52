//! Which things air from the dryers reaches, in the direction of the arrows and through open things only.

use drysheath_engineering::index::IndexVec;
use rustc_hash::FxHashMap;

use super::Networks;
use super::links::{LinkEnd, Links};
use crate::drawing::SharedThing;
use crate::kinds::{Key, KindId, Role, ValveFunction, ValvePosition};
use crate::model::{Office, Thing, ThingId};
use crate::value::Fields;

/// The sides of a thing that air reaches. They are equal for a thing that is open in both directions.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct ReachedSides {
    pub inlet: bool,
    pub outlet: bool,
}

impl ReachedSides {
    pub fn at(self, outlet: bool) -> bool {
        if outlet { self.outlet } else { self.inlet }
    }

    fn side(&mut self, outlet: bool) -> &mut bool {
        if outlet { &mut self.outlet } else { &mut self.inlet }
    }
}

impl LinkEnd {
    /// Whether it is an outlet, not an inlet or a tap.
    pub fn is_outlet(&self) -> bool {
        self.port.role == Role::Outlet
    }
}

/// Whether air passes a thing from inlet to outlet, or backwards. A damaged thing counts as open.
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

/// Extends reach over shared routes, for the office and its neighbours.
pub(super) fn go_on(office: &Office, networks: &mut Networks) {
    let mut neighbours = std::mem::take(&mut networks.neighbours);
    let mut all: Vec<(&Office, &mut Networks)> = vec![(office, networks)];
    all.extend(office.neighbours.iter().map(|other| &**other).zip(&mut neighbours));
    // Air advances by one more office in each round.
    for _ in 0..all.len() {
        let mut shared: FxHashMap<SharedThing, ReachedSides> = FxHashMap::default();
        for (office, networks) in &all {
            for (key, id) in office.shared_things() {
                let known = shared.entry(key).or_default();
                known.inlet |= networks.reached[id].inlet;
                known.outlet |= networks.reached[id].outlet;
            }
        }
        for (office, networks) in &mut all {
            let entering = office.shared_things().flat_map(|(key, id)| {
                let there = shared.get(&key).copied().unwrap_or_default();
                [(id, false, there.inlet), (id, true, there.outlet)]
            });
            let entering: Vec<(ThingId, bool)> = entering
                .filter_map(|(id, outlet, is_there)| is_there.then_some((id, outlet)))
                .collect();
            networks.reached = reach(office, &networks.air, &networks.standing, &entering);
        }
    }
    drop(all);
    networks.neighbours = neighbours;
}

/// What air reaches from the dryers of one office and from `entering`: things at whose outlets or inlets air of other
/// offices arrives.
pub(super) fn reach(
    office: &Office,
    air: &Links,
    standing: &[(ThingId, ThingId)],
    entering: &[(ThingId, bool)],
) -> IndexVec<ThingId, ReachedSides> {
    let mut reached = IndexVec::filled(ReachedSides::default(), office.things.len());
    let mut open: Vec<(ThingId, bool)> = office.air_sources().map(|(id, _)| (id, true)).collect();
    open.extend_from_slice(entering);
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
    // A thing located on a cable or pipe has its air.
    for (host, id) in standing {
        reached[*id].inlet |= reached[*host].inlet || reached[*host].outlet;
    }
    reached
}
