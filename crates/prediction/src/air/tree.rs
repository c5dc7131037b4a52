//! The paths of air in a system, starting from the point where its dryers join.

use drysheath_engineering::index::IndexVec;

use super::graph::{AirEdge, AirNode, EdgeLaw, EdgeOrigin};
use super::{Air, AirLocation, SystemId};

/// The tree of paths by which air reaches each place of a system.
pub struct SupplyTree<'a> {
    air: &'a Air,
    nodes: IndexVec<AirNode, Option<ReachedNode>>,
}

/// A node that air reaches.
#[derive(Clone, Copy)]
struct ReachedNode {
    /// The last edge of the path and the node before it. `None` for nodes that join the dryers.
    from: Option<(AirEdge, AirNode)>,
    /// Number of edges of the path.
    depth: u32,
}

/// A place in the tree.
#[derive(Clone, Copy, Debug)]
pub struct TreePlace {
    /// The node at the place or before it.
    node: AirNode,
    /// The edge beyond that node that the place lies on, and the distance along it in metres.
    edge: Option<(AirEdge, f64)>,
}

/// Where the paths to two places diverge.
enum Divergence {
    /// At the first place: it lies on the path to the second.
    AtFirst,
    /// At the second place: it lies on the path to the first.
    AtSecond,
    At(AirNode),
}

impl Air {
    /// The paths in a system. `None` where a cable or pipe can be fed from several sides, or where a resistance is not
    /// known.
    pub fn supply_tree(&self, system: SystemId) -> Option<SupplyTree<'_>> {
        let ends = Ends::of(self, system)?;
        let joined = ends.joined(self);
        let between = |end: &EdgeEnd| {
            let edge = &self.graph.edges[end.edge];
            joined[edge.from] && joined[edge.to] && matches!(edge.of, EdgeOrigin::Line(..))
        };
        if ends.all.iter().any(between) {
            return None;
        }
        let mut tree = SupplyTree {
            air: self,
            nodes: IndexVec::filled(None, self.graph.nodes),
        };
        let mut open = Vec::new();
        for (node, _) in joined.enumerated().filter(|(_, joined)| **joined) {
            tree.nodes[node] = Some(ReachedNode { from: None, depth: 0 });
            open.push(node);
        }
        while let Some(node) = open.pop() {
            let Some(ReachedNode { depth, .. }) = tree.nodes[node] else {
                continue;
            };
            for EdgeEnd { edge, to, .. } in ends.at(node) {
                if tree.nodes[*to].is_none() {
                    tree.nodes[*to] = Some(ReachedNode {
                        from: Some((*edge, node)),
                        depth: depth + 1,
                    });
                    open.push(*to);
                }
            }
        }
        Some(tree)
    }
}

/// The edges of a system, each listed at both its nodes. The edges of a node form a linked list: this is built for
/// every office that is linted, and needs no sorting.
struct Ends {
    all: Vec<EdgeEnd>,
    /// The last end listed for each node.
    last: IndexVec<AirNode, Option<u32>>,
}

/// One end of an edge, listed at its node.
struct EdgeEnd {
    edge: AirEdge,
    /// The node at the other end.
    to: AirNode,
    /// The previous end at the same node.
    before: Option<u32>,
}

impl Ends {
    /// `None` where the resistance of an edge is not known.
    fn of(air: &Air, system: SystemId) -> Option<Self> {
        let mut ends = Self {
            all: Vec::with_capacity(2 * air.graph.edges.len()),
            last: IndexVec::filled(None, air.graph.nodes),
        };
        for (id, edge) in air.graph.edges.enumerated() {
            if air.systems.edges[id].is_none_or(|(other, _)| other != system) {
                continue;
            }
            // An edge that is computed because nothing flows in it may still feed a leak, through its unknown
            // resistance.
            if matches!(edge.law, EdgeLaw::Unknown { .. }) {
                return None;
            }
            ends.push(edge.from, id, edge.to);
            ends.push(edge.to, id, edge.from);
        }
        Some(ends)
    }

    fn push(&mut self, node: AirNode, edge: AirEdge, to: AirNode) {
        let before = self.last[node].replace(self.all.len() as u32);
        self.all.push(EdgeEnd { edge, to, before });
    }

    fn at(&self, node: AirNode) -> impl Iterator<Item = &EdgeEnd> {
        let end = |at: Option<u32>| self.all.get(at? as usize);
        std::iter::successors(end(self.last[node]), move |after| end(after.before))
    }

    /// Removes nodes with one edge repeatedly. The nodes that remain are dryers, nodes that join them, and nodes on
    /// loops.
    fn joined(&self, air: &Air) -> IndexVec<AirNode, bool> {
        let mut joined = IndexVec::filled(false, air.graph.nodes);
        let mut edges = IndexVec::filled(0_u32, air.graph.nodes);
        for end in &self.all {
            joined[end.to] = true;
            edges[end.to] += 1;
        }
        let mut is_dryer = IndexVec::filled(false, air.graph.nodes);
        for dryer in &air.graph.dryers {
            is_dryer[dryer.node] = true;
        }
        let is_end = |node: AirNode, edges: &IndexVec<AirNode, u32>| edges[node] == 1 && !is_dryer[node];
        let mut open: Vec<AirNode> = edges.keys().filter(|node| is_end(*node, &edges)).collect();
        while let Some(node) = open.pop() {
            joined[node] = false;
            for EdgeEnd { to, .. } in self.at(node) {
                if joined[*to] {
                    edges[*to] -= 1;
                    if is_end(*to, &edges) {
                        open.push(*to);
                    }
                }
            }
        }
        joined
    }
}

impl SupplyTree<'_> {
    /// Finds a location in the tree. `None` where its pressure is not known.
    pub fn place(&self, location: &AirLocation<'_>) -> Option<TreePlace> {
        self.air.pressure(location)?;
        match location {
            AirLocation::Thing(thing) => {
                let node = self.air.ports(*thing)?.inlet;
                self.nodes[node].map(|_| TreePlace { node, edge: None })
            }
            AirLocation::OnLine(line, metres) => {
                let segment = line.segment_at(*metres)?;
                let ends = self.air.graph.edges[segment.edge];
                let is_last = |node: AirNode| {
                    let from = self.nodes[node].and_then(|reached| reached.from);
                    from.is_some_and(|(edge, _)| edge == segment.edge)
                };
                let length = segment.to - segment.from;
                let inside = (metres - segment.from).clamp(0.0, length);
                let (node, inside) = if is_last(ends.from) {
                    (ends.to, length - inside)
                } else {
                    (ends.from, inside)
                };
                let edge = Some((segment.edge, inside));
                self.nodes[node].map(|_| TreePlace { node, edge })
            }
        }
    }

    /// Whether all air to `place` passes `other`, or `other` is at `place`.
    pub fn is_beyond(&self, place: &TreePlace, other: &TreePlace) -> bool {
        match self.divergence(place, other) {
            Some(Divergence::AtSecond) => true,
            Some(Divergence::At(node)) => other.edge.is_none() && other.node == node,
            _ => false,
        }
    }

    /// Finds where the paths to two places diverge.
    fn divergence(&self, one: &TreePlace, other: &TreePlace) -> Option<Divergence> {
        if let Some(((edge, inside), (on, at))) = one.edge.zip(other.edge)
            && edge == on
        {
            let parting = if inside < at {
                Divergence::AtFirst
            } else {
                Divergence::AtSecond
            };
            return Some(parting);
        }
        let is_on = |place: &TreePlace, edge: AirEdge| place.edge.is_some_and(|(on, _)| on == edge);
        let (mut near, mut far) = (one.node, other.node);
        let mut parting = Divergence::At(near);
        while near != far {
            let (mine, its) = (self.nodes[near]?, self.nodes[far]?);
            if mine.depth >= its.depth {
                let (edge, before) = mine.from?;
                near = before;
                parting = if is_on(other, edge) {
                    Divergence::AtSecond
                } else {
                    Divergence::At(near)
                };
            } else {
                let (edge, before) = its.from?;
                far = before;
                parting = if is_on(one, edge) {
                    Divergence::AtFirst
                } else {
                    Divergence::At(far)
                };
            }
        }
        Some(parting)
    }
}
