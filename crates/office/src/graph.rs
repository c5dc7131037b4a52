//! Connections between the things of an office, by medium.

mod disjoint_sets;
mod links;
mod merged;
mod reach;
mod wiring;

pub use disjoint_sets::DisjointSets;
pub use links::{Link, LinkEnd, Links};
pub(crate) use merged::ImportedOffice;
pub use merged::MergedOffice;
pub use reach::lets_air;
pub use wiring::{Terminal, TerminalId, WireConnection, Wiring, connector_pairs};

use drysheath_engineering::index::IndexVec;
use drysheath_syntax::Medium;

use crate::kinds::Role;
use crate::model::{Office, ThingId};
use crate::value::{Fields, Value};
use merged::MergedOfficeData;
use reach::ReachedSides;

/// The four networks of an office, built once and used by every rule.
#[derive(Debug)]
pub struct Networks {
    /// Links of air runs.
    pub air: Links,
    /// Links of power runs.
    pub power: Links,
    /// Links of ground runs.
    pub ground: Links,
    /// Terminals joined by wire runs.
    pub wire: Wiring,
    /// For each thing, whether air from a dryer reaches it.
    reached: IndexVec<ThingId, ReachedSides>,
    /// Cables and pipes with the things located on them, sorted.
    standing: Vec<(ThingId, ThingId)>,
    /// Networks of the neighbouring offices, each alone, in the order of [`Office::neighbours`].
    pub neighbours: Vec<Networks>,
    /// The office merged with its neighbours, if it has any.
    merged_data: Option<Box<MergedOfficeData>>,
}

impl Networks {
    /// Builds the networks of `office` and of its neighbours.
    pub fn new(office: &Office) -> Self {
        let mut networks = Self::alone(office);
        if !office.neighbours.is_empty() {
            networks.neighbours = office.neighbours.iter().map(|other| Self::alone(other)).collect();
            reach::go_on(office, &mut networks);
            networks.merged_data = Some(Box::new(MergedOfficeData::of(office)));
        }
        networks
    }

    /// Builds the networks of one office as if it had no routes.
    fn alone(office: &Office) -> Self {
        let air = Links::new(office, Medium::Air);
        let standing = standing(office);
        let reached = reach::reach(office, &air, &standing, &[]);
        Self {
            power: Links::new(office, Medium::Power),
            ground: Links::new(office, Medium::Ground),
            wire: Wiring::new(office),
            air,
            reached,
            standing,
            neighbours: Vec::new(),
            merged_data: None,
        }
    }

    /// The office merged with its neighbours. `office` is the one that these networks belong to.
    pub fn merged<'n>(&'n self, office: &'n Office) -> MergedOffice<'n> {
        match &self.merged_data {
            Some(merged_data) => MergedOffice {
                office: &merged_data.office,
                networks: &merged_data.networks,
            },
            None => MergedOffice { office, networks: self },
        }
    }

    /// A thing of a route in the other offices that have it, with their networks.
    pub fn elsewhere<'n>(
        &'n self,
        office: &'n Office,
        thing: ThingId,
    ) -> impl Iterator<Item = (MergedOffice<'n>, ThingId)> + 'n {
        let shared = office.shared(thing);
        let neighbours = office.neighbours.iter().zip(&self.neighbours);
        let neighbours = neighbours.filter(move |_| shared.is_some());
        neighbours.filter_map(move |(office, networks)| {
            let (_, id) = office.shared_things().find(|(key, _)| Some(*key) == shared)?;
            Some((MergedOffice { office, networks }, id))
        })
    }

    /// Whether air from a dryer reaches a thing, in the direction of the arrows and through open things only.
    pub fn is_reached(&self, thing: ThingId) -> bool {
        let ReachedSides { inlet, outlet } = self.reached[thing];
        inlet || outlet
    }

    /// Whether air from a dryer reaches one side of a link.
    pub fn is_reached_at(&self, side: &LinkEnd) -> bool {
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

    /// The power links that end at a load or at the supply of a panel, in the order of the file.
    pub fn feeds(&self) -> impl Iterator<Item = &Link> {
        self.power.iter().filter(|link| is_fed(link.to))
    }

    /// The battery that supplies a feed, through panels and through loads that pass it on. `None` if no run leads to
    /// one.
    pub fn battery_of(&self, feed: &Link) -> Option<ThingId> {
        let mut seen = Vec::new();
        let mut open = vec![feed.from];
        while let Some(side) = open.pop() {
            match side.port.role {
                Role::Battery => return Some(side.thing),
                Role::Fuse | Role::Load if !seen.contains(&side.thing) => {
                    seen.push(side.thing);
                    open.extend(self.feeding(side.thing).map(|link| link.from));
                }
                _ => {}
            }
        }
        None
    }

    /// The feeds of a panel or load.
    pub fn feeding(&self, thing: ThingId) -> impl Iterator<Item = &Link> {
        self.power.leading_to(thing).filter(|link| is_fed(link.to))
    }

    /// The loads supplied by a battery or panel, or through a load that passes its feed on, without duplicates, in the
    /// order of the runs.
    pub fn loads_behind(&self, thing: ThingId) -> Vec<ThingId> {
        let mut seen = vec![thing];
        let mut loads = Vec::new();
        let mut at = 0;
        while let Some(thing) = seen.get(at).copied() {
            at += 1;
            let gives = |role| matches!(role, Role::Battery | Role::Fuse | Role::Load);
            let passed_on = |link: &&Link| gives(link.from.port.role) && is_fed(link.to);
            for link in self.power.leaving(thing).filter(passed_on) {
                let next = link.to.thing;
                if !seen.contains(&next) {
                    seen.push(next);
                    loads.extend((link.to.port.role == Role::Load).then_some(next));
                }
            }
        }
        loads
    }
}

/// Whether a power link that ends here is a feed.
fn is_fed(end: LinkEnd) -> bool {
    matches!(end.port.role, Role::Load | Role::PanelInput)
}

fn standing(office: &Office) -> Vec<(ThingId, ThingId)> {
    let things = office.things().map(|(id, _)| id);
    let mut standing: Vec<_> = things.filter_map(|id| Some((office.host(id)?.thing?, id))).collect();
    standing.sort_unstable();
    standing
}

impl Office {
    /// The cable or pipe that a thing is located on.
    pub fn host(&self, thing: ThingId) -> Option<&crate::value::StatedPosition> {
        self.thing(thing).fields().iter().find_map(|field| match &field.value {
            Value::At(at) => Some(&**at),
            _ => None,
        })
    }
}
