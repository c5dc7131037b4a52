//! Systems that could not be computed though nothing is missing.

use drysheath_engineering::network::{LinkId, NoSolution, NodeId, Piece, SupplyId};
use drysheath_office::{Networks, ThingId};

use super::graph::{AirEdge, EdgeOf};
use super::{Air, SystemId};
use crate::route::Route;

/// A computation that failed.
#[derive(Debug)]
pub struct Failure<'a> {
    /// The system that could not be computed.
    pub system: SystemId,
    /// The solver's reason, which displays as words.
    pub why: &'a NoSolution,
    /// What in the office it is about, where that can be told.
    pub at: Option<FailedElement<'a>>,
}

/// What a failed computation is about.
#[derive(Clone, Copy, Debug)]
pub enum FailedElement<'a> {
    /// A place on a route, in metres from its beginning.
    Route(&'a Route, f64),
    /// An air run, as its number in the order of [`Networks::air`].
    Run(usize),
    /// Something that air passes through, or a dryer.
    Thing(ThingId),
}

impl FailedElement<'_> {
    /// The thing that it is, that the route belongs to or that the run leads to.
    pub fn thing(&self, networks: &Networks) -> Option<ThingId> {
        match self {
            Self::Route(route, _) => Some(route.thing),
            Self::Run(number) => networks.air.iter().nth(*number).map(|link| link.to.thing),
            Self::Thing(thing) => Some(*thing),
        }
    }
}

impl Air {
    /// The systems that could not be computed though nothing is missing.
    pub fn failures(&self) -> impl Iterator<Item = Failure<'_>> {
        self.systems.all.enumerated().filter_map(|(system, computed)| {
            let why = computed.solution.as_ref().err()?;
            let at = match why.piece() {
                Piece::Link(link) => self.element_of(self.edge_of(system, link), 0.5),
                Piece::Node(node) => self.element_at(system, node),
                Piece::Supply(supply) => self.dryer_of(system, supply).map(FailedElement::Thing),
                Piece::Leak(_) | Piece::Conditions => None,
            };
            let at = at.or_else(|| self.dryers(system).next().map(FailedElement::Thing));
            Some(Failure { system, why, at })
        })
    }

    fn edge_of(&self, system: SystemId, link: LinkId) -> AirEdge {
        self.system(system).links[link]
    }

    fn dryer_of(&self, system: SystemId, supply: SupplyId) -> Option<ThingId> {
        let mut dryers = self.graph.dryers.enumerated();
        let (_, dryer) = dryers.find(|(index, _)| self.systems.dryers[*index] == Some((system, supply)))?;
        Some(dryer.thing)
    }

    /// What a node of a system belongs to: a route sooner than a run, and either sooner than a thing.
    fn element_at(&self, system: SystemId, node: NodeId) -> Option<FailedElement<'_>> {
        let rank = |element: &FailedElement<'_>| match element {
            FailedElement::Route(..) => 0,
            FailedElement::Run(_) => 1,
            FailedElement::Thing(_) => 2,
        };
        let network = &self.system(system).network;
        let elements = network.links_at(node).filter_map(|link| {
            let part = if network.ends(link).1 == node { 1.0 } else { 0.0 };
            self.element_of(self.edge_of(system, link), part)
        });
        elements.min_by_key(rank)
    }

    /// What of the office an edge is, and where on it, as a part of its length.
    fn element_of(&self, edge: AirEdge, part: f64) -> Option<FailedElement<'_>> {
        match self.graph.edges[edge].of {
            EdgeOf::Route(route, from, to) => {
                let metres = from + part * (to - from);
                Some(FailedElement::Route(&self.graph.routes[route], metres))
            }
            EdgeOf::Run(run) => Some(FailedElement::Run(run)),
            EdgeOf::Thing(thing) => Some(FailedElement::Thing(thing)),
            EdgeOf::Joint => None,
        }
    }
}
