//! Air supply of a thing: what is upstream and downstream of it, and the declared pressures.

use std::rc::Rc;

use drysheath_engineering::index::IndexVec;
use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Compressor, Key, KindId, Role};
use drysheath_office::{Fields, Link, MergedOffice, Office, Thing, ThingId, lets_air};
use drysheath_text::{Place, TextRange};

use crate::figures::below;
use crate::lint::Inspection;
use crate::precedence::Subject;

/// A pressure that a thing declares.
#[derive(Clone, Copy, Debug)]
pub(crate) struct StatedPressure {
    /// The thing that declares it.
    pub thing: ThingId,
    /// The pressure as written.
    pub quantity: Quantity,
    /// The pressure as a figure for comparisons; see [`Office::figure`].
    pub figure: f64,
    /// Place of the declaration.
    pub place: Place,
}

impl StatedPressure {
    /// The field as a subject.
    pub(crate) fn subject(&self) -> Subject {
        Subject::Field(self.thing, self.place)
    }
}

/// The pressure that a thing declares in the field `key`.
pub(crate) fn stated(office: &Office, id: ThingId, key: Key) -> Option<StatedPressure> {
    let (quantity, place) = office.thing(id).quantity(key)?;
    Some(StatedPressure {
        thing: id,
        quantity,
        figure: office.figure(quantity),
        place,
    })
}

/// The pressure that a dryer or regulator maintains at its outlet.
pub(crate) fn held(office: &Office, source: ThingId) -> Option<StatedPressure> {
    let key = if office.thing(source).gives_air() {
        Key::Delivers
    } else {
        Key::Set
    };
    stated(office, source, key)
}

/// Highest pressure that a dryer or regulator can put on the things downstream, as stated by the dryer, regulator or
/// relief that sets it.
pub(crate) fn highest(inspection: &Inspection<'_>, source: ThingId) -> Option<StatedPressure> {
    highest_of_all(inspection)[source]
}

/// Highest pressure of each dryer and regulator.
pub(crate) fn highest_of_all<'i>(inspection: &'i Inspection<'_>) -> &'i IndexVec<ThingId, Option<StatedPressure>> {
    inspection.highest.get_or_init(|| {
        let office = inspection.office;
        let mut highest = IndexVec::filled(None, office.things.len());
        let mut is_known = IndexVec::filled(false, office.things.len());
        for (id, _) in office.things().filter(|(_, thing)| is_source(thing)) {
            find_highest(inspection, id, &mut highest, &mut is_known);
        }
        highest
    })
}

/// A regulator may stick open: things downstream then see its supply pressure, unless its relief opens first.
fn find_highest(
    inspection: &Inspection<'_>,
    source: ThingId,
    highest: &mut IndexVec<ThingId, Option<StatedPressure>>,
    is_known: &mut IndexVec<ThingId, bool>,
) -> Option<StatedPressure> {
    if std::mem::replace(&mut is_known[source], true) {
        return highest[source];
    }
    let office = inspection.office;
    let higher = |one: &StatedPressure, other: &StatedPressure| one.figure.total_cmp(&other.figure);
    let held = held(office, source);
    // Ends the recursion on a loop of runs, without a pressure. A damaged thing may be a relief.
    highest[source] = held;
    if office.thing(source).is(KindId::Regulator) && !office.thing(source).damaged {
        let supplies = sources(inspection, source).into_iter();
        let supplies = supplies.filter_map(|id| find_highest(inspection, id, highest, is_known));
        let limits = [supplies.max_by(higher), stated(office, source, Key::Relief)];
        let stuck = limits.into_iter().flatten().min_by(higher);
        highest[source] = [stuck, held].into_iter().flatten().max_by(higher);
    }
    highest[source]
}

/// Highest pressure that can reach the inlet of a regulator.
pub(crate) fn supply_of(inspection: &Inspection<'_>, regulator: ThingId) -> Option<StatedPressure> {
    let supplies = sources(inspection, regulator)
        .into_iter()
        .filter(|source| *source != regulator);
    let supplies = supplies.filter_map(|source| highest(inspection, source));
    supplies.max_by(|one, other| one.figure.total_cmp(&other.figure))
}

/// Whether a source of air is a bank of bottles, which may be on standby for a compressor.
pub(crate) fn is_bank(thing: &Thing) -> bool {
    thing.is(KindId::Bottle) || thing.choice(Key::Compressor) == Some(Compressor::None)
}

/// Whether a thing sets the pressure downstream of it.
fn is_source(thing: &Thing) -> bool {
    thing.gives_air() || thing.is(KindId::Regulator)
}

/// The things that supply a thing: those directly upstream, or the cable or pipe that it is installed on. A closed
/// valve supplies nothing.
fn feeders(in_all: MergedOffice<'_>, thing: ThingId) -> impl Iterator<Item = ThingId> {
    let office = in_all.office;
    let host = office.host(thing).and_then(|at| at.thing);
    let leading = in_all.networks.air.leading_to(thing);
    let open = leading.filter(move |link| carries_air(office, link));
    open.map(|link| link.from.thing).chain(host)
}

/// Whether a link does not start at the outlet of a closed valve.
fn carries_air(office: &Office, link: &Link) -> bool {
    !link.from.is_outlet() || lets_air(office.thing(link.from.thing), false)
}

/// The nearest dryers and regulators upstream of `thing`, in the order of the file.
pub(crate) fn sources(inspection: &Inspection<'_>, thing: ThingId) -> Vec<ThingId> {
    let (office, own) = (inspection.office, inspection.own());
    let mut known = inspection.sources.borrow_mut();
    // Nearly every thing has a single feeder and shares its sources, unless it is a source itself.
    let mut chain = Vec::new();
    let mut from = thing;
    let found: Rc<[ThingId]> = loop {
        if let Some(found) = &known[from] {
            break found.clone();
        }
        if chain.len() == office.things.len() {
            break sources_of_many(own, from).into();
        }
        chain.push(from);
        let mut feeders = feeders(own, from);
        match (feeders.next(), feeders.next()) {
            (None, _) => break Rc::new([]),
            (Some(only), None) if is_source(office.thing(only)) => break Rc::new([only]),
            (Some(only), None) => from = only,
            (Some(_), Some(_)) => break sources_of_many(own, from).into(),
        }
    };
    for id in chain {
        known[id] = Some(found.clone());
    }
    found.to_vec()
}

/// As [`sources`], for a thing with several feeders.
fn sources_of_many(of: MergedOffice<'_>, thing: ThingId) -> Vec<ThingId> {
    let office = of.office;
    let mut found = Vec::new();
    let mut seen = IndexVec::filled(false, office.things.len());
    let mut open: Vec<ThingId> = feeders(of, thing).collect();
    while let Some(id) = open.pop() {
        if std::mem::replace(&mut seen[id], true) {
            continue;
        }
        if is_source(office.thing(id)) {
            found.push(id);
        } else {
            open.extend(feeders(of, id));
        }
    }
    found.sort_unstable();
    found
}

/// Highest pressure that a dryer or regulator in another office puts on a thing over routes while no air flows,
/// relative to the ambient pressure of this office.
pub(crate) fn held_elsewhere(inspection: &Inspection<'_>, thing: ThingId) -> Option<StatedPressure> {
    let office = inspection.office;
    if office.neighbours.is_empty() {
        return None;
    }
    let merged = inspection.networks.merged(office);
    let sources = sources_of_many(merged, thing).into_iter();
    let held = sources.filter_map(|id| {
        let other = merged.office.office_of(id)?;
        let held = held(merged.office, id)?;
        let absolute = other.absolute(held.quantity).pascals();
        Some(StatedPressure {
            figure: absolute - office.atmosphere().pascals(),
            ..held
        })
    });
    held.max_by(|one, other| one.figure.total_cmp(&other.figure))
}

/// The things downstream of `thing`, up to the next regulator or closed valve, including those installed at cables and
/// pipes.
pub(crate) fn behind(inspection: &Inspection<'_>, thing: ThingId) -> Rc<[ThingId]> {
    let mut known = inspection.behind.borrow_mut();
    let found = known[thing].get_or_insert_with(|| find_behind(inspection, thing).into());
    found.clone()
}

fn find_behind(inspection: &Inspection<'_>, thing: ThingId) -> Vec<ThingId> {
    let office = inspection.office;
    let networks = inspection.networks;
    let mut found = Vec::new();
    let mut seen = IndexVec::filled(false, office.things.len());
    let mut open: Vec<ThingId> = networks.air.leaving(thing).map(|link| link.to.thing).collect();
    while let Some(id) = open.pop() {
        if std::mem::replace(&mut seen[id], true) {
            continue;
        }
        if office.thing(id).is(KindId::Regulator) {
            continue;
        }
        found.push(id);
        let leaving = networks.air.leaving(id).filter(|link| carries_air(office, link));
        open.extend(leaving.map(|link| link.to.thing));
        open.extend(networks.standing_at(id));
    }
    found.sort_unstable();
    found
}

/// The sources with a pressure above `figure` that feed the same things as `source`.
pub(crate) fn stronger(inspection: &Inspection<'_>, source: ThingId, figure: f64) -> Vec<ThingId> {
    let fed = behind(inspection, source);
    let mut stronger: Vec<_> = fed.iter().flat_map(|id| sources(inspection, *id)).collect();
    stronger.sort_unstable();
    stronger.dedup();
    stronger.retain(|other| held(inspection.office, *other).is_some_and(|held| held.figure > figure));
    stronger
}

/// The first regulators downstream of `thing`, in the order of the file.
pub(crate) fn regulators_behind(inspection: &Inspection<'_>, thing: ThingId) -> Vec<ThingId> {
    let air = &inspection.networks.air;
    let is_regulator = |id: &ThingId| inspection.office.thing(*id).is(KindId::Regulator);
    let fed = behind(inspection, thing);
    let leaving = [thing]
        .into_iter()
        .chain(fed.iter().copied())
        .flat_map(|id| air.leaving(id));
    let open = leaving.filter(|link| carries_air(inspection.office, link));
    let mut found: Vec<_> = open.map(|link| link.to.thing).filter(is_regulator).collect();
    found.sort_unstable();
    found.dedup();
    found
}

/// Things downstream of a dryer or regulator with a rating in one of the fields `keys` below `figure`, lowest rating
/// first.
pub(crate) fn weaker_behind(
    inspection: &Inspection<'_>,
    source: ThingId,
    keys: &[Key],
    figure: f64,
) -> Vec<StatedPressure> {
    let office = inspection.office;
    let weaker = |id| {
        let stated = keys.iter().filter_map(move |key| stated(office, id, *key));
        stated.filter(move |stated| below(stated.figure, figure))
    };
    // Most offices have no rating that low, so the search is skipped.
    if !below(weakest(inspection), figure) {
        return Vec::new();
    }
    let fed = behind(inspection, source);
    let mut found: Vec<_> = fed.iter().copied().flat_map(weaker).collect();
    found.sort_by(|one, other| one.figure.total_cmp(&other.figure));
    found
}

/// The lowest pressure rating in the office; infinite where none is declared.
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

/// The run end that enters a regulator by its outlet or leaves it by its inlet.
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
    let is_dryer = |id: &ThingId| inspection.office.thing(*id).gives_air();
    if !behind(inspection, regulator).iter().any(is_dryer) {
        return None;
    }
    air.leaving(regulator).next().map(|link| link.from.range)
}
