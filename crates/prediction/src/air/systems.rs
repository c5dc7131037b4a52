//! The connected systems of an office's air network, solved one by one.

use drysheath_engineering::index::IndexVec;
use drysheath_engineering::index_type;
use drysheath_engineering::measure::Pressure;
use drysheath_engineering::network::{
    Conditions, Link, LinkId, Network, NoSolution, NodeId, Solution, SupplyId, solve,
};

use super::graph::{AirEdge, AirGraph, AirNode, DryerIndex, EdgeLaw, MissingIndex};
use super::regulation::{Uncertain, uncertain};
use super::solvable::{Solvable, solvable};

index_type! {
    /// A connected air system of an office: a part of its air network that no air run, cable or pipe joins with another.
    pub struct SystemId;
}

/// A connected system with what was computed of it.
pub(crate) struct System {
    pub network: Network,
    pub solution: Result<Solution, NoSolution>,
    /// What is not known because of a regulator out of regulation; none where there is none of those.
    pub uncertain: Option<Uncertain>,
    /// The office's edge behind each link of the network.
    pub links: IndexVec<LinkId, AirEdge>,
}

/// All systems, and where the nodes, edges and dryers of the office are in them. None where nothing can be computed.
pub(crate) struct Systems {
    pub all: IndexVec<SystemId, System>,
    pub nodes: IndexVec<AirNode, Option<(SystemId, NodeId)>>,
    pub edges: IndexVec<AirEdge, Option<(SystemId, LinkId)>>,
    pub dryers: IndexVec<DryerIndex, Option<(SystemId, SupplyId)>>,
    /// The inputs without which no more can be computed.
    pub missing: Vec<MissingIndex>,
}

impl Systems {
    pub fn new(graph: &AirGraph, conditions: &Conditions) -> Self {
        let Assembled {
            systems,
            nodes,
            edges,
            dryers,
            missing,
            ..
        } = Assembled::of(graph);
        Self {
            all: systems.into_iter().map(|system| system.solved(conditions)).collect(),
            nodes,
            edges,
            dryers,
            missing,
        }
    }
}

impl Systems {
    /// Leaves out nodes that nothing is known of, and what they join.
    pub fn leave_out(&mut self, graph: &AirGraph, nodes: &IndexVec<AirNode, bool>) {
        for (place, is_out) in self.nodes.iter_mut().zip(nodes) {
            *place = place.filter(|_| !is_out);
        }
        for (place, edge) in self.edges.iter_mut().zip(&graph.edges) {
            *place = place.filter(|_| !nodes[edge.from]);
        }
        for (place, dryer) in self.dryers.iter_mut().zip(&graph.dryers) {
            *place = place.filter(|_| !nodes[dryer.node]);
        }
    }
}

/// The systems before they are solved, and where the nodes, edges and dryers of the office are in them.
pub(super) struct Assembled {
    pub systems: IndexVec<SystemId, Unsolved>,
    pub nodes: IndexVec<AirNode, Option<(SystemId, NodeId)>>,
    pub edges: IndexVec<AirEdge, Option<(SystemId, LinkId)>>,
    pub dryers: IndexVec<DryerIndex, Option<(SystemId, SupplyId)>>,
    /// The nodes that air reaches only along edges without a known resistance. None where there are none.
    pub beyond: Option<IndexVec<AirNode, bool>>,
    /// Systems with a fixed loss in place of what is used behind a resistance that is missing.
    pub fixed: Vec<SystemId>,
    missing: Vec<MissingIndex>,
}

impl Assembled {
    pub fn of(graph: &AirGraph) -> Self {
        let solvable = solvable(graph);
        let mut unsolved: IndexVec<SystemId, Unsolved> = IndexVec::new();
        let nodes = nodes(&solvable, &mut unsolved);
        let dryers = graph.dryers.iter().map(|dryer| {
            let (system, node) = nodes[dryer.node]?;
            Some((system, unsolved[system].network.supply(node, dryer.supply?)))
        });
        let dryers = dryers.collect();
        let mut fixed = Vec::new();
        for (node, flow) in &solvable.demands {
            if let Some((system, node)) = nodes[*node] {
                unsolved[system].network.demand(node, *flow);
                fixed.push(system);
            }
        }
        for (node, leak) in &graph.leaks {
            if let Some((system, node)) = nodes[*node] {
                unsolved[system].network.leak(node, *leak);
            }
        }
        for open in &graph.open {
            if let Some((system, node)) = nodes[*open] {
                unsolved[system].network.hold(node, Pressure::from_pascals(0.0));
            }
        }
        let edges = graph.edges.enumerated().map(|(id, edge)| {
            let link = match edge.law {
                EdgeLaw::Known(link) => link,
                EdgeLaw::Unknown { .. } if solvable.still[id] => Link::Fitting,
                EdgeLaw::Unknown { .. } => return None,
            };
            let ((system, from), (_, to)) = nodes[edge.from].zip(nodes[edge.to])?;
            let Unsolved { network, links } = &mut unsolved[system];
            links.push(id);
            let link = network.link(from, to, link);
            if let Some(leakage) = graph.leakage.get(&id) {
                network.follow(link, *leakage);
            }
            Some((system, link))
        });
        let edges = edges.collect();
        if graph.regulators_held_back {
            for system in &mut unsolved {
                system.network.hold_back_regulators();
            }
        }
        Self {
            systems: unsolved,
            nodes,
            edges,
            dryers,
            beyond: solvable.beyond,
            fixed,
            missing: solvable.missing,
        }
    }
}

/// Gives each node that can be computed a place in the network of its system.
fn nodes(
    solvable: &Solvable,
    unsolved: &mut IndexVec<SystemId, Unsolved>,
) -> IndexVec<AirNode, Option<(SystemId, NodeId)>> {
    // The system of each component, at the component's first node.
    let mut systems: IndexVec<AirNode, Option<SystemId>> = IndexVec::filled(None, solvable.known.len());
    let node = |(node, known): (AirNode, &bool)| {
        if !known {
            return None;
        }
        let system = *systems[solvable.component[node]].get_or_insert_with(|| unsolved.push(Unsolved::default()));
        Some((system, unsolved[system].network.node()))
    };
    solvable.known.enumerated().map(node).collect()
}

/// A system before it is solved.
#[derive(Default)]
pub(super) struct Unsolved {
    pub network: Network,
    links: IndexVec<LinkId, AirEdge>,
}

impl Unsolved {
    fn solved(self, conditions: &Conditions) -> System {
        let solution = solve(&self.network, conditions);
        System {
            uncertain: solution
                .as_ref()
                .ok()
                .and_then(|solution| uncertain(&self.network, solution)),
            solution,
            network: self.network,
            links: self.links,
        }
    }
}
