//! Which things air from the dryers reaches: along the arrows of the runs, and only through what is open.

use drysheath_engineering::index::IndexVec;
use drysheath_syntax::Medium;
use rustc_hash::FxHashMap;

use super::links::{Links, Side};
use crate::drawing::SharedThing;
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

/// Where air from the dryers comes, those of offices that share a route among them.
pub(super) fn reach(office: &Office, air: &Links, standing: &[(ThingId, ThingId)]) -> IndexVec<ThingId, Reached> {
    if office.neighbours.is_empty() {
        return reach_from(office, air, standing, &[]);
    }
    let networks: Vec<_> = office
        .neighbours
        .iter()
        .map(|other| (&**other, Links::new(other, Medium::Air), super::standing(other)))
        .collect();
    let all = std::iter::once((office, air, standing)).chain(
        networks
            .iter()
            .map(|(other, air, standing)| (*other, air, standing.as_slice())),
    );
    let all: Vec<_> = all.collect();
    let mut found: Vec<_> = all
        .iter()
        .map(|(office, air, standing)| reach_from(office, air, standing, &[]))
        .collect();
    // Air goes on from office to office, through one more in each round.
    for _ in &all {
        let shared: FxHashMap<SharedThing, Reached> = all
            .iter()
            .zip(&found)
            .flat_map(|((office, ..), reached)| office.shared_things().map(|(key, id)| (key, reached[id])))
            .fold(FxHashMap::default(), |mut shared, (key, reached)| {
                let known: &mut Reached = shared.entry(key).or_default();
                known.inlet |= reached.inlet;
                known.outlet |= reached.outlet;
                shared
            });
        for ((office, air, standing), reached) in all.iter().zip(&mut found) {
            let entering = office.shared_things().flat_map(|(key, id)| {
                let there = shared.get(&key).copied().unwrap_or_default();
                [(id, false, there.inlet), (id, true, there.outlet)]
            });
            let entering: Vec<(ThingId, bool)> = entering
                .filter_map(|(id, outlet, is_there)| is_there.then_some((id, outlet)))
                .collect();
            *reached = reach_from(office, air, standing, &entering);
        }
    }
    found.swap_remove(0)
}

/// Where air comes from the dryers of one office, and from what `entering` has: things with air of other offices at their outlets
/// or inlets.
fn reach_from(
    office: &Office,
    air: &Links,
    standing: &[(ThingId, ThingId)],
    entering: &[(ThingId, bool)],
) -> IndexVec<ThingId, Reached> {
    let mut reached = IndexVec::filled(Reached::default(), office.things.len());
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
    // What is located at a cable or pipe has its air.
    for (host, id) in standing {
        reached[*id].inlet |= reached[*host].inlet || reached[*host].outlet;
    }
    reached
}
