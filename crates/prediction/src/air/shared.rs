//! Routes shared with other offices: where those offices join them, and which routes are already in the network.

use drysheath_office::{Networks, Office, PlacedDrawing, SharedThing, ThingId};
use drysheath_text::TextRange;
use rustc_hash::FxHashMap;

use super::builder::{NetworkBuilder, tap};
use super::graph::{AirNode, Ports};
use crate::missing_input::{MissingInput, NeededFor};

/// A trunk, or a branch by its index.
pub(super) type TrunkOrBranch = (ThingId, Option<u32>);

/// A neighbouring office whose network is being added.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Neighbour {
    /// Index among the neighbours.
    pub number: usize,
    /// Ambient pressure of that office minus that of the office being computed, Pa.
    pub higher: f64,
    /// A thing of the route that leads to it; missing inputs of the neighbour are reported there.
    pub on: ThingId,
    /// Where the office places that route.
    pub by: TextRange,
}

impl Neighbour {
    /// What that office lacks, reported at the route that leads to it.
    pub fn missing(&self, office: &Office, what: &str, needed_for: NeededFor) -> MissingInput {
        MissingInput {
            on: self.on,
            range: self.by,
            what: format!("{what} in {}", name_of(office)),
            needed_for,
        }
    }
}

/// For each thing of a route, the distances in metres at which any of the offices joins it.
#[derive(Default)]
pub(super) struct JoinedElsewhere(FxHashMap<SharedThing, Vec<f64>>);

impl JoinedElsewhere {
    /// Collects the joints of an office and its neighbours; `networks` are those of the office.
    pub fn of(office: &Office, networks: &Networks) -> Self {
        let mut joined = Self::default();
        for (neighbour, networks) in office.neighbours.iter().zip(&networks.neighbours) {
            joined.add(neighbour, networks);
        }
        if !office.neighbours.is_empty() {
            joined.add(office, networks);
        }
        joined
    }

    fn add(&mut self, office: &Office, networks: &Networks) {
        for link in networks.air.iter() {
            for side in [&link.from, &link.to] {
                let shared = office.shared(side.thing);
                if let (Some(shared), Some(metres)) = (shared, tap(office.thing(side.thing), side)) {
                    self.0.entry(shared).or_default().push(metres);
                }
            }
        }
    }

    /// The distances at which a thing of the office is joined, in metres.
    pub fn along(&self, office: &Office, thing: ThingId) -> impl Iterator<Item = f64> + '_ {
        let joined = office.shared(thing).and_then(|shared| self.0.get(&shared));
        joined.into_iter().flatten().copied()
    }
}

/// Nodes along a trunk or branch, with their distances in metres.
type LineNodes = Vec<(f64, AirNode)>;

/// Nodes of a route's thing in the network: its ports, and the nodes along its trunk and branches.
type KnownNodes = (Option<Ports>, Vec<(Option<u32>, LineNodes)>);

/// The routes that are already in the network.
#[derive(Default)]
pub(super) struct SharedRoutes(FxHashMap<SharedThing, KnownNodes>);

impl SharedRoutes {
    /// Records the routes of an office whose network has been built.
    pub fn add(&mut self, builder: &NetworkBuilder<'_>) {
        let office = builder.office;
        for (shared, thing) in office.shared_things() {
            let along = builder.nodes_along.iter().filter(|((of, _), _)| *of == thing);
            let along = along.map(|((_, branch), nodes)| (*branch, nodes.clone())).collect();
            let known = (builder.graph.ports[thing], along);
            self.0.entry(shared).or_insert(known);
        }
    }

    /// Gives the nodes of a route to another office that places it, if the route is in the network.
    pub fn give(&self, placed: &PlacedDrawing, to: &mut NetworkBuilder<'_>) -> bool {
        let office = to.office;
        let things = office
            .shared_things()
            .filter(|(_, thing)| placed.things.contains(thing));
        let mut is_known = placed.is_route();
        for (shared, thing) in things {
            let Some((ports, along)) = self.0.get(&shared) else {
                is_known = false;
                continue;
            };
            to.graph.ports[thing] = *ports;
            for (branch, nodes) in along {
                to.nodes_along.insert((thing, *branch), nodes.clone());
            }
        }
        is_known
    }
}

/// Display name of an office.
pub(super) fn name_of(office: &Office) -> &str {
    office.itself.map_or("another office", |id| office.name(id))
}

/// The reason in a neighbouring office why the network of this office cannot be computed.
pub(super) fn neighbour_missing(office: &Office, is_unread: impl Fn(&Office) -> bool) -> Option<MissingInput> {
    let (range, what) = match office.apart.first() {
        Some((range, path)) if path.is_empty() => (
            *range,
            "what feeds into this route at its other end, which it does not name".to_owned(),
        ),
        Some((range, path)) => (
            *range,
            format!("what the office in `{path}.office` feeds into this route: that file cannot be read"),
        ),
        None => {
            let unread = office.neighbours.iter().find(|neighbour| is_unread(neighbour))?;
            let route = office.placed.iter().find(|placed| placed.is_route())?;
            let what = format!("what `{}` feeds into this route: its file has errors", name_of(unread));
            (route.name, what)
        }
    };
    let route = office
        .placed
        .iter()
        .find(|placed| placed.is_route() && placed.name == range)?;
    Some(MissingInput {
        on: office.thing_of(route)?,
        range,
        what,
        needed_for: NeededFor::Air,
    })
}
