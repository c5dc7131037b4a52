//! How the things of an office are joined, medium by medium.

mod disjoint_sets;
mod links;
mod reach;
mod wiring;

pub use disjoint_sets::DisjointSets;
pub use links::{FeedLinks, Link, Links, Side};
pub use reach::lets_air;
pub use wiring::{Joint, Terminal, TerminalId, Wiring};

use drysheath_engineering::index::IndexVec;
use drysheath_syntax::Medium;

use crate::kinds::Role;
use crate::model::{Office, ThingId};
use crate::value::{Fields, Value};
use reach::Reached;

/// The four networks of an office, built once and asked by every rule.
#[derive(Debug)]
pub struct Networks {
    /// The links that air runs make.
    pub air: Links,
    /// The links that power runs make.
    pub power: Links,
    /// The links that ground runs make.
    pub ground: Links,
    /// The terminals that wire runs join.
    pub wire: Wiring,
    /// Where air from a dryer comes.
    reached: IndexVec<ThingId, Reached>,
    /// The cables and pipes that things are located at, and those things.
    standing: Vec<(ThingId, ThingId)>,
}

impl Networks {
    /// The networks of `office`.
    pub fn new(office: &Office) -> Self {
        let air = Links::new(office, Medium::Air);
        let standing = standing(office);
        let reached = reach::reach(office, &air, &standing);
        Self {
            power: Links::new(office, Medium::Power),
            ground: Links::new(office, Medium::Ground),
            wire: Wiring::new(office),
            air,
            reached,
            standing,
        }
    }

    /// Whether air from a dryer comes to a thing, along the arrows and past what lets it.
    pub fn is_reached(&self, thing: ThingId) -> bool {
        let Reached { inlet, outlet } = self.reached[thing];
        inlet || outlet
    }

    /// Whether air from a dryer comes to one side of a link.
    pub fn is_reached_at(&self, side: &Side) -> bool {
        self.reached[side.thing].at(side.is_outlet())
    }

    /// The things located at a cable or pipe, in the order of the file.
    pub fn standing_at(&self, host: ThingId) -> impl Iterator<Item = ThingId> {
        let start = self.standing.partition_point(|(other, _)| *other < host);
        let rest = self.standing.get(start..).unwrap_or_default();
        rest.iter()
            .take_while(move |(other, _)| *other == host)
            .map(|(_, id)| *id)
    }

    /// What feeds each load.
    pub fn feeds(&self) -> impl Iterator<Item = FeedLinks<'_>> {
        let loads = self.power.iter().filter(|link| link.to.port.role == Role::Load);
        loads.map(|load| {
            let fused = load.from.port.role == Role::Fuse;
            let supply = if fused { self.supply(load.from.thing) } else { None };
            FeedLinks {
                load,
                supply,
                battery: self.battery(load.from),
            }
        })
    }

    /// What leads to a panel.
    fn supply(&self, panel: ThingId) -> Option<&Link> {
        self.power.leading_to(panel).next()
    }

    /// The battery behind one side of a power link. A panel may be fed from a position of another.
    fn battery(&self, mut side: Side) -> Option<ThingId> {
        const MOST_PANELS_IN_A_ROW: u32 = 8;
        for _ in 0..=MOST_PANELS_IN_A_ROW {
            match side.port.role {
                Role::Battery => return Some(side.thing),
                Role::Fuse => side = self.supply(side.thing)?.from,
                _ => return None,
            }
        }
        None
    }
}

fn standing(office: &Office) -> Vec<(ThingId, ThingId)> {
    let things = office.things().map(|(id, _)| id);
    let mut standing: Vec<_> = things.filter_map(|id| Some((office.host(id)?.thing?, id))).collect();
    standing.sort_unstable();
    standing
}

impl Office {
    /// The cable or pipe that a thing is located at, if there is one.
    pub fn host(&self, thing: ThingId) -> Option<&crate::value::At> {
        self.thing(thing).fields().iter().find_map(|field| match &field.value {
            Value::At(at) => Some(&**at),
            _ => None,
        })
    }
}
