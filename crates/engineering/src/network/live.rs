//! The part of a network that air can reach ("live"), with the law of each element.

use std::collections::VecDeque;

use super::laws::{Boundary, Law};
use super::neighbours::Neighbours;
use super::{Conditions, ConnectedLink, LeakId, LinkId, Network, NodeId, Supply, SupplyId};
use crate::index::IndexVec;
use crate::index_type;
use crate::measure::Pressure;

index_type! {
    /// Index of a live node: one unknown of the equations.
    pub(super) struct LiveNode;
    /// Index of a link between live nodes.
    pub(super) struct LiveLink;
    /// Index of a boundary at a live node, where air enters or leaves the network.
    pub(super) struct BoundaryId;
}

/// The nodes that a link leads from and to.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub from: LiveNode,
    pub to: LiveNode,
}

/// The live part of a network, with its own indices.
pub(super) struct LiveNetwork {
    /// The live node of each node of the network, if air can reach it.
    pub nodes: IndexVec<NodeId, Option<LiveNode>>,
    /// The network's node of each live node.
    pub names: IndexVec<LiveNode, NodeId>,
    pub laws: IndexVec<LiveLink, Law>,
    pub edges: IndexVec<LiveLink, Edge>,
    /// The network's link of each live link.
    pub links: IndexVec<LiveLink, LinkId>,
    pub boundaries: IndexVec<BoundaryId, (LiveNode, Boundary)>,
    pub supplies: IndexVec<SupplyId, Option<BoundaryId>>,
    /// `None` for a leak at a dead node, which loses nothing.
    pub leaks: IndexVec<LeakId, Option<BoundaryId>>,
    /// Pressure-dependent losses at the ends of lines.
    pub leakage: Vec<BoundaryId>,
    /// Pressure-independent usage at each node, including half of that along each line that ends there, m³/s.
    pub demand: IndexVec<LiveNode, f64>,
}

impl LiveNetwork {
    /// The live part, and initial squared pressures: those of the supplies, propagated from node to node and limited by
    /// regulators. The network must have passed `check`.
    pub fn new(network: &Network, conditions: &Conditions) -> (Self, IndexVec<LiveNode, f64>) {
        let laws = network
            .links
            .iter()
            .map(|joined| Law::new(joined, conditions))
            .collect();
        let start = first_guess(network, conditions, &laws);
        Self::of_reached(network, conditions, laws, &start)
    }

    /// The part whose squared pressures are given beforehand, with all links between these nodes.
    pub fn starting_from(
        network: &Network,
        conditions: &Conditions,
        start: &IndexVec<NodeId, Option<f64>>,
    ) -> (Self, IndexVec<LiveNode, f64>) {
        let laws = network
            .links
            .iter()
            .map(|joined| Law::new(joined, conditions))
            .collect();
        Self::of_reached(network, conditions, laws, start)
    }

    fn of_reached(
        network: &Network,
        conditions: &Conditions,
        all_laws: IndexVec<LinkId, Law>,
        guess: &IndexVec<NodeId, Option<f64>>,
    ) -> (Self, IndexVec<LiveNode, f64>) {
        let all = network.nodes.len();
        let mut nodes = IndexVec::with_capacity(all);
        let (mut names, mut start, mut demand) = (
            IndexVec::with_capacity(all),
            IndexVec::with_capacity(all),
            IndexVec::with_capacity(all),
        );
        let mut boundaries = IndexVec::with_capacity(network.supplies.len() + network.leaks.len());
        for ((id, node), guess) in network.nodes.enumerated().zip(guess) {
            nodes.push(guess.map(|squared| {
                let here: LiveNode = names.push(id);
                start.push(squared);
                demand.push(node.demand);
                if let Some(gauge) = node.held {
                    boundaries.push((here, Boundary::held(gauge, conditions)));
                }
                here
            }));
        }
        let mut boundary = |at: NodeId, law| Some(boundaries.push((nodes[at]?, law)));
        let supplies = network.supplies.iter();
        let supplies = supplies.map(|(at, supply)| boundary(*at, Boundary::supply(supply, conditions)));
        let supplies = supplies.collect();
        let leaks = network.leaks.iter();
        let leaks = leaks.map(|(at, leak)| boundary(*at, Boundary::leak(leak, conditions)));
        let leaks = leaks.collect();
        let count = all_laws.len();
        let (mut laws, mut edges, mut links) = (
            IndexVec::with_capacity(count),
            IndexVec::with_capacity(count),
            IndexVec::with_capacity(count),
        );
        let mut leakage = Vec::new();
        for (
            (
                id,
                ConnectedLink {
                    from,
                    to,
                    leakage: follows,
                    ..
                },
            ),
            law,
        ) in network.links.enumerated().zip(all_laws)
        {
            let (Some(from), Some(to)) = (nodes[*from], nodes[*to]) else {
                continue;
            };
            demand[from] += law.usage() / 2.0;
            demand[to] += law.usage() / 2.0;
            if let Some(relief) = Boundary::relief(&law) {
                boundaries.push((to, relief));
            }
            if let Some((at_start, at_end)) = Boundary::leakage(&law, follows.as_ref()) {
                leakage.push(boundaries.push((from, at_start)));
                leakage.push(boundaries.push((to, at_end)));
            }
            laws.push(law);
            edges.push(Edge { from, to });
            links.push(id);
        }
        let live = Self {
            nodes,
            names,
            laws,
            edges,
            links,
            boundaries,
            supplies,
            leaks,
            leakage,
            demand,
        };
        (live, start)
    }

    /// Limits a supply to its capacity. Beyond it, its pressure falls.
    pub fn limit(&mut self, network: &Network, supply: SupplyId) {
        self.limit_between(network, supply, 0.0, 1.0);
    }

    /// Limits a supply to a flow on the way from another, m³/s, to its capacity, the part of the way from 0 to 1.
    pub fn limit_between(&mut self, network: &Network, supply: SupplyId, from: f64, part: f64) {
        let (_, Supply { capacity, .. }) = network.supplies[supply];
        if let (Some(capacity), Some(boundary)) = (capacity, self.supplies[supply])
            && let Boundary::Supply { most, .. } = &mut self.boundaries[boundary].1
        {
            *most = from * (1.0 - part) + capacity.cubic_metres_per_second() * part;
        }
    }

    /// Removes the limits of all supplies.
    pub fn free(&mut self) {
        for (_, boundary) in &mut self.boundaries {
            if let Boundary::Supply { most, .. } = boundary {
                *most = f64::INFINITY;
            }
        }
    }

    /// The links at each live node.
    pub fn neighbours(&self) -> Neighbours<LiveNode, LiveLink> {
        Neighbours::new(self.names.len(), self.edges.iter().map(|edge| (edge.from, edge.to)))
    }
}

/// Initial squared pressure of each node that air can reach, Pa².
fn first_guess(
    network: &Network,
    conditions: &Conditions,
    laws: &IndexVec<LinkId, Law>,
) -> IndexVec<NodeId, Option<f64>> {
    let squared = |gauge: Pressure| (conditions.ambient + gauge).pascals().powi(2);
    let mut guess: IndexVec<NodeId, Option<f64>> = IndexVec::filled(None, network.nodes.len());
    let mut queue = VecDeque::new();
    for (at, supply) in &network.supplies {
        let delivered = squared(supply.delivers);
        guess[*at] = Some(guess[*at].map_or(delivered, |other| other.max(delivered)));
        queue.push_back(*at);
    }
    for (id, node) in network.nodes.enumerated() {
        if let Some(gauge) = node.held {
            guess[id] = Some(squared(gauge));
            queue.push_back(id);
        }
    }
    let ends = network.links.iter().map(|joined| (joined.from, joined.to));
    let neighbours: Neighbours<NodeId, LinkId> = Neighbours::new(network.nodes.len(), ends);
    while let Some(node) = queue.pop_front() {
        let Some(here) = guess[node] else { continue };
        for &(link, forwards) in neighbours.of(node) {
            let law = &laws[link];
            if !forwards && !law.both_ways() {
                continue;
            }
            let ConnectedLink { from, to, .. } = network.links[link];
            let there = if forwards { to } else { from };
            if guess[there].is_none() {
                guess[there] = Some(match law {
                    Law::Regulator(regulator) => here.min(regulator.set * regulator.set),
                    Law::Line(_) | Law::Leaking(_) | Law::CheckValve | Law::Loss(_) | Law::Fitting => here,
                });
                queue.push_back(there);
            }
        }
    }
    guess
}
