//! What fixes the air pressure at a thing, and what a pressure reaches.

use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, KindId, Role};
use drysheath_office::{Fields, Office, Thing, ThingId};
use drysheath_text::{Place, TextRange};

use crate::figures::below;
use crate::lint::Inspection;

/// A pressure that somebody states of a thing.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stated {
    /// Of what.
    pub thing: ThingId,
    /// As written.
    pub quantity: Quantity,
    /// As a figure to compare.
    pub figure: f64,
    /// Where.
    pub place: Place,
}

/// What is stated of a thing under `key`.
pub(crate) fn stated(office: &Office, id: ThingId, key: Key) -> Option<Stated> {
    let (quantity, place) = office.thing(id).quantity(key)?;
    Some(Stated {
        thing: id,
        quantity,
        figure: office.figure(quantity),
        place,
    })
}

/// The pressure that a dryer or regulator holds behind it.
pub(crate) fn held(office: &Office, source: ThingId) -> Option<Stated> {
    let dryer = office.thing(source).is(KindId::Dryer);
    stated(office, source, if dryer { Key::Delivers } else { Key::Set })
}

/// The highest pressure that a dryer or regulator may put on what is behind it: a regulator that fails is held by its
/// relief only.
pub(crate) fn highest(office: &Office, source: ThingId) -> Option<Stated> {
    let held = held(office, source);
    let relief = stated(office, source, Key::Relief);
    match (held, relief) {
        (Some(held), Some(relief)) => Some(if held.figure < relief.figure { relief } else { held }),
        (held, relief) => held.or(relief),
    }
}

/// Whether a thing fixes the pressure of what is behind it.
fn is_source(thing: &Thing) -> bool {
    thing.is(KindId::Dryer) || thing.is(KindId::Regulator)
}

/// What leads air to a thing: what is upstream of it, or what it stands at.
fn feeders(inspection: &Inspection<'_>, thing: ThingId) -> impl Iterator<Item = ThingId> {
    let host = inspection.office.host(thing).and_then(|at| at.thing);
    inspection
        .networks
        .air
        .leading_to(thing)
        .map(|link| link.from.thing)
        .chain(host)
}

/// The dryers and regulators whose air comes to `thing` with no other between.
pub(crate) fn sources(inspection: &Inspection<'_>, thing: ThingId) -> Vec<ThingId> {
    let office = inspection.office;
    let is_source = |id: ThingId| is_source(office.thing(id));
    // Nearly every thing is fed from one side only, and then there is nothing to remember on the way.
    let mut from = thing;
    for _ in 0..office.things.len() {
        let mut feeders = feeders(inspection, from);
        match (feeders.next(), feeders.next()) {
            (None, _) => return Vec::new(),
            (Some(only), None) if is_source(only) => return vec![only],
            (Some(only), None) => from = only,
            (Some(_), Some(_)) => break,
        }
    }
    let mut found = Vec::new();
    let mut seen = vec![false; office.things.len()];
    let mut open: Vec<ThingId> = feeders(inspection, from).collect();
    while let Some(id) = open.pop() {
        match seen.get_mut(id.0 as usize) {
            Some(seen) if !*seen => *seen = true,
            _ => continue,
        }
        if is_source(id) {
            found.push(id);
        } else {
            open.extend(feeders(inspection, id));
        }
    }
    found.sort_unstable();
    found
}

/// The things that air from `thing` comes to, those that stand at cables and pipes among them, as far as the next
/// regulator.
pub(crate) fn behind(inspection: &Inspection<'_>, thing: ThingId) -> Vec<ThingId> {
    let office = inspection.office;
    let networks = inspection.networks;
    let mut found = Vec::new();
    let mut seen = vec![false; office.things.len()];
    let mut open: Vec<ThingId> = networks.air.leaving(thing).map(|link| link.to.thing).collect();
    while let Some(id) = open.pop() {
        match seen.get_mut(id.0 as usize) {
            Some(seen) if !*seen => *seen = true,
            _ => continue,
        }
        if office.thing(id).is(KindId::Regulator) {
            continue;
        }
        found.push(id);
        open.extend(networks.air.leaving(id).map(|link| link.to.thing));
        open.extend(networks.standing_at(id));
    }
    found.sort_unstable();
    found
}

/// What is behind a dryer or regulator and, under one of `keys`, stands less than `figure`; the weakest first.
pub(crate) fn weaker_behind(inspection: &Inspection<'_>, source: ThingId, keys: &[Key], figure: f64) -> Vec<Stated> {
    let office = inspection.office;
    let weaker = |id| {
        let stated = keys.iter().filter_map(move |key| stated(office, id, *key));
        stated.filter(move |stated| below(stated.figure, figure))
    };
    // Most offices have nothing so weak anywhere, and need no search.
    if !below(weakest(inspection), figure) {
        return Vec::new();
    }
    let mut found: Vec<_> = behind(inspection, source).into_iter().flat_map(weaker).collect();
    found.sort_by(|one, other| one.figure.total_cmp(&other.figure));
    found
}

/// The least pressure that anything stands; endless where nobody says what anything stands.
fn weakest(inspection: &Inspection<'_>) -> f64 {
    *inspection.weakest.get_or_init(|| {
        let office = inspection.office;
        let all = office.things().flat_map(|(id, _)| {
            let of = [Key::Rating, Key::Proof];
            of.into_iter().filter_map(move |key| stated(office, id, key))
        });
        all.map(|stated| stated.figure).fold(f64::INFINITY, f64::min)
    })
}

/// Where a run comes to a regulator's outlet or leaves by its inlet.
pub(crate) fn backwards(inspection: &Inspection<'_>, regulator: ThingId) -> Option<TextRange> {
    let air = &inspection.networks.air;
    let entered = air
        .leading_to(regulator)
        .map(|link| link.to)
        .find(|side| side.port.role == Role::Outlet);
    let left = || {
        air.leaving(regulator)
            .map(|link| link.from)
            .find(|side| side.port.role == Role::Inlet)
    };
    if let Some(side) = entered.or_else(left) {
        return Some(side.range);
    }
    if inspection.networks.is_reached(regulator) {
        return None;
    }
    let is_dryer = |id: &ThingId| inspection.office.thing(*id).is(KindId::Dryer);
    if !behind(inspection, regulator).iter().any(is_dryer) {
        return None;
    }
    air.leaving(regulator).next().map(|link| link.from.range)
}
