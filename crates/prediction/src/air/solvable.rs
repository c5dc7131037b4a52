//! Which parts of the air network can be computed when the file is incomplete.
//!
//! Usage does not depend on pressure. So where the resistance of one edge is missing and all air behind it comes
//! through it, the flow up to it is known, and with it every pressure upstream; the part behind it is not. Where air
//! can come another way round, or where a usage is missing, no flow is known and nothing of the connected component is
//! computed.

use drysheath_engineering::index::IndexVec;
use drysheath_engineering::measure::Flow;
use drysheath_office::DisjointSets;

use super::graph::{AirEdge, AirGraph, AirNode, Edge, EdgeLaw, MissingIndex};

/// The computable part of a network.
pub(super) struct Solvable {
    /// First node of the connected component of each node.
    pub component: IndexVec<AirNode, AirNode>,
    /// Whether the pressure at each node can be computed.
    pub known: IndexVec<AirNode, bool>,
    /// Usage behind edges of unknown resistance, drawn at the node before each of them.
    pub demands: Vec<(AirNode, Flow)>,
    /// Edges whose unknown resistance does not matter because nothing flows.
    pub still: IndexVec<AirEdge, bool>,
    /// The nodes that air reaches only along edges of unknown law: nothing is known of them once it flows there. None where there are none.
    pub beyond: Option<IndexVec<AirNode, bool>>,
    /// The inputs without which no more can be computed, each once.
    pub missing: Vec<MissingIndex>,
}

pub(super) fn solvable(graph: &AirGraph) -> Solvable {
    let component = connected(graph, |_| true);
    let mut supplied = IndexVec::filled(false, graph.nodes);
    for dryer in &graph.dryers {
        supplied[component[dryer.node]] = true;
    }
    for open in &graph.open {
        supplied[component[*open]] = true;
    }
    let mut solvable = Solvable {
        known: component.iter().map(|first| supplied[*first]).collect(),
        component,
        demands: Vec::new(),
        still: IndexVec::filled(false, graph.edges.len()),
        beyond: None,
        missing: Vec::new(),
    };
    let is_complete = graph.edges.iter().all(|edge| !edge.law.is_unknown())
        && graph.dryers.iter().all(|dryer| dryer.supply.is_some());
    if !is_complete {
        solvable.exclude_unsolvable(graph, &supplied);
    }
    solvable
}

/// For each node, the first node that it is connected to by edges for which `counts` holds.
pub(super) fn connected(graph: &AirGraph, counts: impl Fn(&&Edge) -> bool) -> IndexVec<AirNode, AirNode> {
    let mut sets = DisjointSets::new(graph.nodes);
    for edge in graph.edges.iter().filter(counts) {
        sets.join(edge.from, edge.to);
    }
    (0..graph.nodes).map(|node| sets.first(AirNode::from(node))).collect()
}

/// Whether each node is connected to a dryer by edges of known law alone.
fn reached(graph: &AirGraph) -> IndexVec<AirNode, bool> {
    let first = connected(graph, |edge| !edge.law.is_unknown());
    let mut with_dryer = IndexVec::filled(false, graph.nodes);
    for dryer in &graph.dryers {
        with_dryer[first[dryer.node]] = true;
    }
    for open in &graph.open {
        with_dryer[first[*open]] = true;
    }
    first.iter().map(|first| with_dryer[*first]).collect()
}

/// A connected part of the network that air enters only by edges of unknown law.
#[derive(Clone)]
struct Region {
    /// Number of edges that lead into it from nodes that air reaches.
    entrances: u32,
    /// The outer node of the last such edge.
    before: Option<AirNode>,
    /// Usage inside and along its entrances, m³/s.
    used: f64,
    /// Whether resistances are all that is missing.
    only_resistance: bool,
}

impl Region {
    const EMPTY: Self = Self {
        entrances: 0,
        before: None,
        used: 0.0,
        only_resistance: true,
    };

    /// Whether nothing flows in it, so that its pressure is that at the entrance.
    fn is_still(&self) -> bool {
        self.used == 0.0 && self.only_resistance
    }

    fn add(&mut self, edge: &Edge) {
        self.used += edge.law.usage().map_or(0.0, Flow::cubic_metres_per_second);
        if let EdgeLaw::Unknown { only_resistance, .. } = edge.law {
            self.only_resistance &= only_resistance;
        }
    }
}

impl Solvable {
    /// Excludes the parts that cannot be computed because an input is missing.
    fn exclude_unsolvable(&mut self, graph: &AirGraph, supplied: &IndexVec<AirNode, bool>) {
        let reached = reached(graph);
        let region = connected(graph, |edge| !reached[edge.from] && !reached[edge.to]);
        let mut regions = IndexVec::filled(Region::EMPTY, graph.nodes);
        // Components whose flows are not known, by their first nodes.
        let mut doubtful = IndexVec::filled(false, graph.nodes);
        for dryer in graph.dryers.iter().filter(|dryer| dryer.supply.is_none()) {
            doubtful[self.component[dryer.node]] = true;
        }
        // What a hole loses depends on the pressure there, which is not known.
        for (node, _) in graph.leaks.iter().filter(|(node, _)| !reached[*node]) {
            doubtful[self.component[*node]] = true;
        }
        for edge in &graph.edges {
            let (inside, before) = match (reached[edge.from], reached[edge.to]) {
                (true, true) => {
                    doubtful[self.component[edge.from]] |= edge.law.is_unknown();
                    continue;
                }
                (true, false) => (edge.to, Some(edge.from)),
                (false, true) => (edge.from, Some(edge.to)),
                (false, false) => (edge.from, None),
            };
            doubtful[self.component[edge.from]] |= edge.law.usage().is_none();
            let region = &mut regions[region[inside]];
            region.add(edge);
            if before.is_some() {
                region.entrances += 1;
                region.before = before;
            }
        }
        for region in regions.iter().filter(|region| region.entrances > 1) {
            if let Some(before) = region.before {
                doubtful[self.component[before]] = true;
            }
        }
        for node in region.keys() {
            let component = self.component[node];
            if doubtful[component] {
                self.known[node] = false;
                continue;
            }
            let around = &regions[region[node]];
            if around.is_still() {
                continue;
            }
            if !reached[node] && supplied[component] {
                self.known[node] = false;
            }
            if let (true, 1, Some(before)) = (region[node] == node, around.entrances, around.before) {
                let flow = Flow::from_cubic_metres_per_second(around.used);
                self.demands.push((before, flow));
            }
        }
        self.beyond = Some(reached.iter().map(|reached| !reached).collect());
        self.classify_unknown_edges(graph, supplied);
    }

    /// Separates edges of unknown law that do not matter from those that prevent the computation.
    fn classify_unknown_edges(&mut self, graph: &AirGraph, supplied: &IndexVec<AirNode, bool>) {
        for (id, edge) in graph.edges.enumerated() {
            let EdgeLaw::Unknown { missing, .. } = edge.law else {
                continue;
            };
            if !supplied[self.component[edge.from]] {
                continue;
            }
            if self.known[edge.from] && self.known[edge.to] {
                self.still[id] = true;
            } else {
                self.missing.extend(missing);
            }
        }
        self.missing.sort_unstable();
        self.missing.dedup();
    }
}
