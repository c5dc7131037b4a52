//! The air network of an office as its file describes it: what is known of each edge, and what is missing.

use drysheath_engineering::index::IndexVec;
use drysheath_engineering::index_type;
use drysheath_engineering::measure::Flow;
use drysheath_engineering::network::{Leak, Leakage, Link, Supply};
use drysheath_office::kinds::Key;
use drysheath_office::line::{LinePosition, position_at};
use drysheath_office::{Fields, Networks, Office, ThingId};
use rustc_hash::FxHashMap;

use super::AirLocation;
use super::shared::Neighbour;
use crate::line::Line;
use crate::missing_input::MissingInput;

index_type! {
    /// A point of the network where edges meet.
    pub(crate) struct AirNode;
    /// Something that air passes along between two nodes.
    pub(crate) struct AirEdge;
    /// A dryer, counted in the order of the file.
    pub(crate) struct DryerIndex;
    /// A cable, branch or pipe, counted in the order of the file.
    pub(crate) struct LineId;
    /// Something that the file lacks.
    pub(crate) struct MissingIndex;
}

/// How air passes along an edge.
#[derive(Clone, Copy, Debug)]
pub(crate) enum EdgeLaw {
    Known(Link),
    /// The file does not say all of it.
    Unknown {
        /// What is missing; none where the text is damaged.
        missing: Option<MissingIndex>,
        /// Air used along it, where that is known.
        usage: Option<Flow>,
        /// Whether only its resistance is missing, so that without flow the pressure is the same at both ends.
        only_resistance: bool,
    },
}

impl EdgeLaw {
    /// Something that may pass air in any way.
    pub fn unknown(usage: Option<Flow>) -> Self {
        Self::Unknown {
            missing: None,
            usage,
            only_resistance: false,
        }
    }

    /// Something that passes air both ways against a resistance that is not known.
    pub fn without_resistance(missing: Option<MissingIndex>, usage: Option<Flow>) -> Self {
        Self::Unknown {
            missing,
            usage,
            only_resistance: true,
        }
    }

    pub fn is_unknown(&self) -> bool {
        matches!(self, Self::Unknown { .. })
    }

    /// Air used along the edge, where that is known.
    pub fn usage(&self) -> Option<Flow> {
        match self {
            Self::Known(Link::Tube(tube)) => Some(tube.usage),
            Self::Known(Link::Section(section)) => Some(section.usage),
            Self::Known(_) => Some(no_flow()),
            Self::Unknown { usage, .. } => *usage,
        }
    }
}

/// What of the office an edge is.
#[derive(Clone, Copy, Debug)]
pub(crate) enum EdgeOrigin {
    /// A part of a line, between two distances in metres.
    Line(LineId, f64, f64),
    /// A piece of an air run, as its number in the order of [`drysheath_office::Links::pieces`].
    Run(usize),
    /// A regulator, flow sensor or valve.
    Thing(ThingId),
    /// Where a branch leaves its trunk, or a line whose length is not known.
    Joint,
    /// Something in another office, by its number among the neighbours.
    Elsewhere(usize),
}

/// Something that air passes along.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    pub from: AirNode,
    pub to: AirNode,
    pub law: EdgeLaw,
    pub of: EdgeOrigin,
}

/// Where air comes into a thing and goes out of it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ports {
    pub inlet: AirNode,
    pub outlet: AirNode,
}

/// Which dryer it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum DryerLocation {
    /// One of the office.
    Here(ThingId),
    /// One of another office, by the number of that among the neighbours.
    Elsewhere(usize, ThingId),
}

impl DryerLocation {
    /// The dryer, where it is one of the office.
    pub(crate) fn here(self) -> Option<ThingId> {
        match self {
            Self::Here(thing) => Some(thing),
            Self::Elsewhere(..) => None,
        }
    }
}

/// A dryer and the node that it gives its air to.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Dryer {
    pub node: AirNode,
    pub at: DryerLocation,
    /// What it delivers, where that is known.
    pub supply: Option<Supply>,
}

/// Something of an office that shares a route with the one that is computed.
#[derive(Debug)]
pub(crate) struct NeighbourPart<T> {
    /// The office, by its number among the neighbours.
    pub neighbour: usize,
    pub part: T,
}

#[derive(Debug, Default)]
pub(crate) struct AirGraph {
    /// Number of nodes, which are numbered from 0.
    pub nodes: usize,
    pub edges: IndexVec<AirEdge, Edge>,
    pub dryers: IndexVec<DryerIndex, Dryer>,
    /// None for a thing that no air comes into.
    pub ports: IndexVec<ThingId, Option<Ports>>,
    /// The edge of a thing that air passes through.
    pub through: IndexVec<ThingId, Option<AirEdge>>,
    pub lines: IndexVec<LineId, Line>,
    /// The offices whose networks this one joins over shared routes, in the order of [`Office::neighbours`].
    pub neighbours: Vec<Neighbour>,
    /// The lines of those offices, without the routes that are shared.
    pub lines_elsewhere: Vec<NeighbourPart<Line>>,
    /// The nodes of the tanks of those offices.
    pub tanks_elsewhere: Vec<NeighbourPart<(ThingId, AirNode)>>,
    /// The edge of each piece of the air runs, in the order of [`drysheath_office::Links::pieces`].
    pub runs: Vec<Option<AirEdge>>,
    pub missing: IndexVec<MissingIndex, MissingInput>,
    /// Holes that a state has besides what its lines lose.
    pub leaks: Vec<(AirNode, Leak)>,
    /// Nodes that are open to the surrounding air.
    pub open: Vec<AirNode>,
    /// Whether regulators pass no more than their supply less their differential: see [`Network::hold_back_regulators`].
    ///
    /// [`Network::hold_back_regulators`]: drysheath_engineering::network::Network::hold_back_regulators
    pub regulators_held_back: bool,
    /// What follows the pressure along an edge in place of its usage; none where it loses nothing. Empty in the normal state.
    pub leakage: FxHashMap<AirEdge, Option<Leakage>>,
}

impl AirGraph {
    /// Which nodes join two edges and nothing else.
    pub fn is_between_two(&self) -> IndexVec<AirNode, bool> {
        let mut joined: IndexVec<AirNode, usize> = IndexVec::filled(0, self.nodes);
        let others = self
            .leaks
            .iter()
            .map(|(node, _)| *node)
            .chain(self.open.iter().copied());
        let ends = self.edges.iter().flat_map(|edge| [edge.from, edge.to]);
        for node in ends.chain(others).chain(self.dryers.iter().map(|dryer| dryer.node)) {
            joined[node] += 1;
        }
        joined.iter().map(|joined| *joined == 2).collect()
    }

    /// The nodes from which air can get to some nodes, these included. What is not known to let air through counts as if it did not.
    pub fn senders(&self, to: Vec<AirNode>) -> IndexVec<AirNode, bool> {
        let mut upstream: IndexVec<AirNode, Vec<AirNode>> = IndexVec::filled(Vec::new(), self.nodes);
        for edge in &self.edges {
            let (passes, is_one_way) = match edge.law {
                EdgeLaw::Known(law) => (true, law.is_one_way()),
                EdgeLaw::Unknown { only_resistance, .. } => (only_resistance, false),
            };
            if passes {
                upstream[edge.to].push(edge.from);
            }
            if passes && !is_one_way {
                upstream[edge.from].push(edge.to);
            }
        }
        let mut senders = IndexVec::filled(false, self.nodes);
        let mut open = to;
        while let Some(node) = open.pop() {
            if !std::mem::replace(&mut senders[node], true) {
                open.extend(&upstream[node]);
            }
        }
        senders
    }

    /// The line that a position is on.
    pub fn line_of(&self, office: &Office, position: &LinePosition<'_>) -> Option<&Line> {
        let branch = match position.branch {
            Some(branch) => {
                let mut branches = office.thing(position.host).named(Key::Branch);
                Some(branches.position(|(name, ..)| name == branch)? as u32)
            }
            None => None,
        };
        self.lines
            .iter()
            .find(|on| on.thing == position.host && on.branch == branch)
    }

    /// Where a sensor or contact senses the air: where its run ends, or else its own location.
    pub fn location_of(&self, office: &Office, networks: &Networks, thing: ThingId) -> Option<AirLocation<'_>> {
        if let Some(at) = office.host(thing) {
            let position = position_at(office, at)?;
            let line = self.line_of(office, &position)?;
            let end = line
                .length()
                .filter(|end| (0.0..ROUNDING * end).contains(&(position.metres - end)));
            return Some(AirLocation::OnLine(line, end.unwrap_or(position.metres)));
        }
        let joined = networks.air.leading_to(thing).next().is_some() || networks.air.leaving(thing).next().is_some();
        joined.then_some(AirLocation::Thing(thing))
    }
}

/// By what part of a line a distance may be beyond its end that is only rounded, in another unit than the line's.
const ROUNDING: f64 = 1e-3;

pub(crate) fn no_flow() -> Flow {
    Flow::from_cubic_metres_per_second(0.0)
}
