//! A network in its normal state, to which one hole at a time is made.
//!
//! The question is asked for hundreds of places of one network, so that nothing is put together anew for each: what a hole changes is
//! the law of one line, or what leaves at one node, and Newton's method goes on from the normal state. Where all is laminar it is there
//! after one step.
//!
//! A hole inside a line whose leakage follows its pressure is eliminated: the line stays what it is to its ends, three conductances,
//! of its two pieces and of the hole between them.

use super::laws::{Boundary, HOLE, Law, flow, pressure};
use super::leakage::{Leakage, LeakingLaw};
use super::live::{BoundaryId, LiveLink, LiveNetwork, LiveNode};
use super::solver::Search;
use super::{Conditions, LinkId, Network, NoSolution, NodeId, Piece, SupplyId, capacity, check};
use crate::index::IndexVec;
use crate::measure::{Flow, Length, Pressure};

/// A hole in a line or at a node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hole {
    /// One that loses this flow at the normal pressure of its place, and in proportion to p² − pₐ² at others.
    Passing(Flow),
    /// The place is open to the surrounding air.
    Open,
}

/// Where a hole is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HoleAt {
    /// At a node.
    Node(NodeId),
    /// Inside a line whose leakage follows its pressure, at a distance from its start.
    Inside(LinkId, Length),
}

/// A network in its normal state, to which one hole at a time is made.
pub struct Probe {
    network: Network,
    conditions: Conditions,
    search: Search,
    /// The supplies that are at their capacity in the normal state already.
    at_capacity: Vec<SupplyId>,
    /// Squared pressures of the normal state.
    normal: IndexVec<LiveNode, f64>,
    links: IndexVec<LinkId, Option<LiveLink>>,
    /// Of each line whose leakage follows its pressure: that, and what it loses at its start and end.
    leaking: IndexVec<LiveLink, Option<(Leakage, BoundaryId, BoundaryId)>>,
    /// The hole at a node.
    hole: BoundaryId,
    /// What leaves by the hole that was made last, m³/s.
    lost: f64,
    /// Whether one step of Newton's method led to it from the normal state.
    is_linear: bool,
}

impl Probe {
    /// A network in its normal state, which is solved for that.
    ///
    /// # Errors
    ///
    /// [`NoSolution`] if a figure is impossible, or if there is no normal state.
    pub fn new(network: &Network, conditions: &Conditions) -> Result<Self, NoSolution> {
        check::check(network, conditions)?;
        let (mut live, start) = LiveNetwork::new(network, conditions);
        let mut links = IndexVec::filled(None, network.links());
        for (here, id) in live.links.enumerated() {
            links[*id] = Some(here);
        }
        let mut leaking = IndexVec::filled(None, live.laws.len());
        // What lines lose at their ends is listed line by line.
        let mut ends = live.leakage.chunks_exact(2);
        for (here, id) in live.links.enumerated() {
            let leakage = network.links[*id].leakage;
            match (&live.laws[here], leakage) {
                (Law::Leaking(_), Some(leakage)) => {
                    if let Some([at_start, at_end]) = ends.next() {
                        leaking[here] = Some((leakage, *at_start, *at_end));
                    }
                }
                (Law::Line(_), Some(_)) => {
                    ends.next();
                }
                _ => {}
            }
        }
        let nothing = Boundary::Laminar {
            outside: 0.0,
            conductance: 0.0,
        };
        if live.names.is_empty() {
            return Err(NoSolution::Impossible {
                piece: Piece::Conditions,
                why: "no air reaches anything",
            });
        }
        let hole = live.boundaries.push((LiveNode::from(0), nothing));
        let mut search = Search::new(live, start);
        if !search.run() {
            return Err(search.unsettled().unwrap_or(NoSolution::Impossible {
                piece: Piece::Conditions,
                why: "there is no normal state",
            }));
        }
        let asked = capacity::keep(&mut search, network).ok_or(NoSolution::Impossible {
            piece: Piece::Conditions,
            why: "supplies are asked for more than they can give",
        })?;
        let at_capacity = asked.enumerated().filter(|(_, asked)| asked.is_some());
        Ok(Self {
            network: network.clone(),
            conditions: *conditions,
            at_capacity: at_capacity.map(|(supply, _)| supply).collect(),
            normal: search.squared.clone(),
            search,
            links,
            leaking,
            hole,
            lost: 0.0,
            is_linear: false,
        })
    }

    /// Makes a hole, in place of the one before it. False where there is no air, where that place is inside no line whose leakage
    /// follows its pressure, or where the pressures do not settle.
    pub fn make(&mut self, at: HoleAt, hole: Hole) -> bool {
        self.search.squared.clone_from(&self.normal);
        match at {
            HoleAt::Node(node) => self.at_node(node, hole).is_some(),
            HoleAt::Inside(link, from_start) => self.inside(link, from_start, hole).is_some(),
        }
    }

    fn at_node(&mut self, node: NodeId, hole: Hole) -> Option<()> {
        let node = self.search.live.nodes[node]?;
        let outside = self.conditions.ambient.pascals().powi(2);
        let conductance = conductance(hole, self.normal[node], outside)?;
        self.search.live.boundaries[self.hole] = (node, Boundary::Laminar { outside, conductance });
        let settled = self.settle();
        self.lost = self.search.outflows[self.hole].flow;
        self.search.live.boundaries[self.hole].1 = Boundary::Laminar {
            outside: 0.0,
            conductance: 0.0,
        };
        settled.then_some(())
    }

    fn inside(&mut self, link: LinkId, from_start: Length, hole: Hole) -> Option<()> {
        let link = self.links[link]?;
        let (leakage, at_start, at_end) = self.leaking[link]?;
        let law = self.search.live.laws[link];
        let Law::Leaking(whole) = &law else { return None };
        let part = law.part(from_start)?;
        let edge = self.search.live.edges[link];
        if part <= 0.0 || part >= 1.0 {
            let node = if part <= 0.0 { edge.from } else { edge.to };
            let node = self.search.live.names[node];
            return self.at_node(node, hole);
        }
        let outside = whole.outside;
        let (here, _) = whole.at(self.normal[edge.from], self.normal[edge.to], part);
        let hole = conductance(hole, here, outside)?;
        let [near, far] = [(0.0, part), (part, 1.0)].map(|(from, to)| LeakingLaw::new(&leakage.piece(from, to)));
        // The place between the pieces is eliminated: what leaves it goes out by the hole and what the pieces lose there.
        let out = near.at_end + hole + far.at_start;
        let all = near.through + far.through + out;
        let mut law_now = *whole;
        law_now.through = near.through / all * far.through;
        let start = near.at_start + near.through / all * out;
        let end = far.at_end + far.through / all * out;
        let boundaries = [(at_start, start), (at_end, end)];
        let before = boundaries.map(|(boundary, _)| self.search.live.boundaries[boundary].1);
        self.search.live.laws[link] = Law::Leaking(law_now);
        for (boundary, conductance) in boundaries {
            self.search.live.boundaries[boundary].1 = Boundary::Laminar { outside, conductance };
        }
        let settled = self.settle();
        let (from, to) = (self.search.squared[edge.from], self.search.squared[edge.to]);
        let between = (near.through * (from - outside) + far.through * (to - outside)) / all;
        self.lost = hole * between;
        self.search.live.laws[link] = law;
        for ((boundary, _), law) in boundaries.into_iter().zip(before) {
            self.search.live.boundaries[boundary].1 = law;
        }
        settled.then_some(())
    }

    /// Looks for the balance with a hole, in which no supply gives more than its capacity.
    fn settle(&mut self) -> bool {
        self.search.live.free();
        for supply in &self.at_capacity {
            self.search.live.limit(&self.network, *supply);
        }
        let steps = self.search.effort.newton;
        let settled = self.search.run() && capacity::keep(&mut self.search, &self.network).is_some();
        self.is_linear = self.search.effort.newton - steps <= 1;
        settled
    }

    /// Whether the network answers in proportion to the hole that was made last, in flows and in squared pressures: one straight step led to it
    /// from the normal state, so that all is laminar on the way, no regulator droops, and no source comes to its capacity.
    pub fn is_linear(&self) -> bool {
        self.is_linear
    }

    /// What leaves by the hole that was made last.
    pub fn lost(&self) -> Flow {
        flow(self.lost)
    }

    /// Pressure above the surrounding air at a node, with the hole that was made last. None where no air is.
    pub fn gauge(&self, node: NodeId) -> Option<Pressure> {
        let live = self.search.live.nodes[node]?;
        Some(pressure(self.search.squared[live]) - self.conditions.ambient)
    }

    /// Flow into the start of a link along its arrow, with the hole that was made last.
    pub fn inflow(&self, link: LinkId) -> Option<Flow> {
        let live = self.links[link]?;
        let through = self.search.flows[live].flow;
        let lost = match self.leaking[live] {
            Some((_, at_start, _)) => self.search.outflows[at_start].flow,
            None => self.search.live.laws[live].usage() / 2.0,
        };
        Some(flow(through + lost))
    }
}

/// What a hole lets out for each Pa². None where there is no pressure above that of the surrounding air.
fn conductance(hole: Hole, normal: f64, outside: f64) -> Option<f64> {
    match hole {
        Hole::Open => Some(HOLE),
        Hole::Passing(flow) => (normal > outside).then(|| flow.cubic_metres_per_second() / (normal - outside)),
    }
}
