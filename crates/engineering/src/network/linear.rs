//! The linear equations of a Newton step.
//!
//! Office networks are trees with a few loops. So the equations are eliminated leaf by leaf first, which visits every
//! node once without fill-in; the loops that remain are eliminated in the order of least degree. An office without
//! loops never gets there.
//!
//! # Without a single subtraction
//!
//! Column j of the matrix has on its diagonal the derivatives of the flows out of node j by its own pressure, and off
//! the diagonal the same figures with reversed sign, for the nodes that those flows go to. So a diagonal is its
//! column's off-diagonals plus an *excess*, the flow out of the network there; an eliminated node passes its excess on
//! to its neighbours, reduced by its own share. All terms are positive, so every pivot is exact to rounding, whatever
//! the figures (the elimination of Grassmann, Taksar and Heyman, 1985, from memory). That matters here: a closed
//! valve's seepage (1e-29) determines the pressure of a closed-off part, and occurs beside fittings (3e-9) and supplies
//! (3e-6).
//!
//! # Why not a linear-algebra crate
//!
//! `faer` 0.24 was tried for the loops and removed again. Its sparse LU is well maintained and fast enough (8 µs for
//! the ordering and 5 µs a step at 30 nodes, 2.6 ms and 1.2 ms at 10,000), but like every LU it subtracts on the
//! diagonal: in a looped part behind closed valves, seepage is twenty orders of magnitude below the fittings, and the
//! last pivot is only rounding error. It also takes 92 s of one core to compile, and dozens of crates. `sprs` and
//! `nalgebra-sparse` offer Cholesky only, but a regulator makes the matrix unsymmetric. `faer` would be faster for a
//! dense net of pipes: a square grid of 10,000 nodes takes 0.4 s here.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::laws::FlowAndSlopes;
use super::live::{Edge, LiveLink, LiveNode};
use crate::index::IndexVec;
use crate::index_type;

index_type! {
    /// Index of a node among those on loops, which remain when all leaves are removed.
    struct LoopNode;
    /// Index of a pair of loop nodes joined by an edge or by fill-in.
    struct PairId;
}

/// A removed node, with the neighbour and edge that it was attached by.
#[derive(Clone, Copy, Debug)]
struct Leaf {
    node: LiveNode,
    parent: LiveNode,
    edge: LiveLink,
    /// Diagonal after all earlier leaves are removed.
    diagonal: f64,
    /// Derivative of the neighbour's balance by this node's pressure.
    column: f64,
    /// Derivative of this node's balance by the neighbour's pressure.
    row: f64,
}

/// The rest of the network after all leaves are removed.
#[derive(Clone)]
struct Loops {
    /// The live node of each loop node.
    nodes: IndexVec<LoopNode, LiveNode>,
    edges: Vec<LoopEdge>,
    /// Nodes in the order of elimination.
    order: Vec<Eliminated>,
    /// The pairs of each node at the time of its elimination, concatenated.
    links: Vec<Half>,
    /// The pairs among those neighbours, first with second, first with third, second with third…
    fills: Vec<Fill>,
    pairs: IndexVec<PairId, Pair>,
    excess: IndexVec<LoopNode, f64>,
}

/// An edge between two nodes of the loops.
#[derive(Clone, Copy, Debug)]
struct LoopEdge {
    edge: LiveLink,
    pair: PairId,
    /// Whether the edge leads from the lower index to the higher.
    upwards: bool,
}

/// A pair that receives fill-in when a common neighbour is eliminated.
#[derive(Clone, Copy, Debug)]
struct Fill {
    pair: PairId,
    /// Whether the second of the two neighbours has the higher index.
    upwards: bool,
}

/// Mutual derivatives of the balances of two nodes by each other's pressure.
#[derive(Clone, Copy, Debug, Default)]
struct Pair {
    /// Derivative of the higher node's balance by the lower's pressure.
    higher: f64,
    /// Derivative of the lower node's balance by the higher's pressure.
    lower: f64,
}

#[derive(Clone, Copy, Debug)]
struct Eliminated {
    node: LoopNode,
    /// Number of its pairs at the time of its elimination.
    degree: usize,
    diagonal: f64,
}

/// A pair as seen from one of its nodes.
#[derive(Clone, Copy, Debug)]
struct Half {
    other: LoopNode,
    pair: PairId,
    /// Whether the other node has the higher index.
    upwards: bool,
}

/// The equations of one network: figures change from step to step, the pattern does not.
#[derive(Clone)]
pub(super) struct Equations {
    leaves: Vec<Leaf>,
    /// Nodes without neighbours after the leaves are removed, with their diagonals.
    roots: Vec<(LiveNode, f64)>,
    loops: Option<Loops>,
    excess: IndexVec<LiveNode, f64>,
    /// Values at loop nodes while solving.
    scratch: IndexVec<LoopNode, f64>,
}

/// The remaining neighbours of a node while leaves are removed.
#[derive(Clone, Copy)]
struct Hanging {
    edges: u32,
    /// XOR of the indices of its edges: equals the index of the last one when only one remains.
    which: usize,
    /// Whether the node itself has been removed.
    is_off: bool,
}

impl Equations {
    /// Determines the order of elimination.
    pub fn new(nodes: usize, edges: &IndexVec<LiveLink, Edge>) -> Self {
        let bare = Hanging {
            edges: 0,
            which: 0,
            is_off: false,
        };
        let mut hanging: IndexVec<LiveNode, Hanging> = IndexVec::filled(bare, nodes);
        for (id, edge) in edges.enumerated() {
            if edge.from == edge.to {
                continue;
            }
            for end in [edge.from, edge.to] {
                hanging[end].edges += 1;
                hanging[end].which ^= usize::from(id);
            }
        }
        let mut leaves = Vec::with_capacity(nodes);
        for start in (0..nodes).map(LiveNode::from) {
            let mut node = start;
            while !hanging[node].is_off && hanging[node].edges == 1 {
                let number = hanging[node].which;
                let edge = edges[LiveLink::from(number)];
                let parent = if edge.from == node { edge.to } else { edge.from };
                leaves.push(Leaf {
                    node,
                    parent,
                    edge: LiveLink::from(number),
                    diagonal: 1.0,
                    column: 0.0,
                    row: 0.0,
                });
                hanging[node].is_off = true;
                hanging[parent].edges -= 1;
                hanging[parent].which ^= number;
                // Continue with the neighbour only if this pass has visited it already.
                if parent > start {
                    break;
                }
                node = parent;
            }
        }
        let left = || hanging.enumerated().filter(|(_, hanging)| !hanging.is_off);
        let roots = left().filter(|(_, hanging)| hanging.edges == 0);
        let core: IndexVec<LoopNode, LiveNode> = left()
            .filter(|(_, hanging)| hanging.edges > 0)
            .map(|(node, _)| node)
            .collect();
        Self {
            leaves,
            roots: roots.map(|(node, _)| (node, 1.0)).collect(),
            scratch: IndexVec::with_capacity(core.len()),
            loops: (!core.is_empty()).then(|| Loops::new(nodes, core, edges)),
            excess: IndexVec::with_capacity(nodes),
        }
    }

    /// Factors the matrix with new slopes of links and new `own` slopes of boundaries at each node. Returns false if
    /// the equations have no unique solution.
    pub fn factor(
        &mut self,
        edges: &IndexVec<LiveLink, Edge>,
        slopes: &IndexVec<LiveLink, FlowAndSlopes>,
        own: &IndexVec<LiveNode, f64>,
    ) -> bool {
        self.excess.clear();
        self.excess.extend(own.iter().copied());
        for leaf in &mut self.leaves {
            let slope = &slopes[leaf.edge];
            (leaf.column, leaf.row) = if edges[leaf.edge].from == leaf.node {
                (slope.before, slope.behind)
            } else {
                (slope.behind, slope.before)
            };
            let excess = self.excess[leaf.node];
            leaf.diagonal = excess + leaf.column;
            self.excess[leaf.parent] += leaf.row * (excess / leaf.diagonal);
        }
        for (node, diagonal) in &mut self.roots {
            *diagonal = self.excess[*node];
        }
        match &mut self.loops {
            None => true,
            Some(loops) => loops.factor(slopes, &self.excess),
        }
    }

    /// Solves in place for the changes of P, given the balances.
    pub fn solve(&mut self, values: &mut IndexVec<LiveNode, f64>) {
        for leaf in &self.leaves {
            let own = values[leaf.node];
            values[leaf.parent] += own * (leaf.column / leaf.diagonal);
        }
        for &(node, diagonal) in &self.roots {
            values[node] /= diagonal;
        }
        if let Some(loops) = &self.loops {
            loops.solve(values, &mut self.scratch);
        }
        for leaf in self.leaves.iter().rev() {
            let parent = values[leaf.parent];
            let value = &mut values[leaf.node];
            *value = (*value + leaf.row * parent) / leaf.diagonal;
        }
    }
}

/// Pairs of nodes while the order of elimination is determined.
struct Pairs {
    of: IndexVec<LoopNode, Vec<Half>>,
    count: usize,
}

impl Pairs {
    /// The pair of two nodes, created if there is none.
    fn between(&mut self, one: LoopNode, two: LoopNode) -> PairId {
        if let Some(half) = self.of[one].iter().find(|half| half.other == two) {
            return half.pair;
        }
        let pair = PairId::from(self.count);
        self.count += 1;
        for (node, other) in [(one, two), (two, one)] {
            self.of[node].push(Half {
                other,
                pair,
                upwards: other > node,
            });
        }
        pair
    }

    /// Removes a node and returns its pairs.
    fn take(&mut self, node: LoopNode) -> Vec<Half> {
        let taken = std::mem::take(&mut self.of[node]);
        for half in &taken {
            self.of[half.other].retain(|back| back.other != node);
        }
        taken
    }
}

impl Loops {
    fn new(all: usize, nodes: IndexVec<LoopNode, LiveNode>, edges: &IndexVec<LiveLink, Edge>) -> Self {
        let mut place: IndexVec<LiveNode, Option<LoopNode>> = IndexVec::filled(None, all);
        for (here, node) in nodes.enumerated() {
            place[*node] = Some(here);
        }
        let mut pairs = Pairs {
            of: IndexVec::filled(Vec::new(), nodes.len()),
            count: 0,
        };
        let mut within = Vec::new();
        for (id, edge) in edges.enumerated() {
            if let (Some(from), Some(to)) = (place[edge.from], place[edge.to])
                && from != to
            {
                within.push(LoopEdge {
                    edge: id,
                    pair: pairs.between(from, to),
                    upwards: from < to,
                });
            }
        }
        let mut queue: BinaryHeap<_> = pairs
            .of
            .enumerated()
            .map(|(node, halves)| Reverse((halves.len(), node)))
            .collect();
        let mut done: IndexVec<LoopNode, bool> = IndexVec::filled(false, nodes.len());
        let (mut order, mut links, mut fills) = (Vec::with_capacity(nodes.len()), Vec::new(), Vec::new());
        while let Some(Reverse((degree, node))) = queue.pop() {
            if done[node] || degree != pairs.of[node].len() {
                continue;
            }
            done[node] = true;
            let taken = pairs.take(node);
            for (index, first) in taken.iter().enumerate() {
                for second in taken.iter().skip(index + 1) {
                    fills.push(Fill {
                        pair: pairs.between(first.other, second.other),
                        upwards: second.other > first.other,
                    });
                }
            }
            for half in &taken {
                queue.push(Reverse((pairs.of[half.other].len(), half.other)));
            }
            order.push(Eliminated {
                node,
                degree,
                diagonal: 1.0,
            });
            links.extend(taken);
        }
        Self {
            excess: IndexVec::with_capacity(nodes.len()),
            nodes,
            edges: within,
            order,
            links,
            fills,
            pairs: IndexVec::filled(Pair::default(), pairs.count),
        }
    }

    fn factor(&mut self, slopes: &IndexVec<LiveLink, FlowAndSlopes>, excess: &IndexVec<LiveNode, f64>) -> bool {
        self.excess.clear();
        self.excess.extend(self.nodes.iter().map(|&node| excess[node]));
        self.pairs.fill(Pair::default());
        for edge in &self.edges {
            let slope = &slopes[edge.edge];
            self.pairs[edge.pair].gain(edge.upwards, slope.before, slope.behind);
        }
        let (mut links, mut fills) = (self.links.as_slice(), self.fills.iter());
        for step in &mut self.order {
            let (mine, rest) = links.split_at(step.degree);
            links = rest;
            let excess = self.excess[step.node];
            let given: f64 = mine.iter().map(|half| half.seen(&self.pairs).0).sum();
            step.diagonal = excess + given;
            if !(step.diagonal > 0.0 && step.diagonal.is_finite()) {
                return false;
            }
            let kept = excess / step.diagonal;
            for (index, first) in mine.iter().enumerate() {
                let (to_first, from_first) = first.seen(&self.pairs);
                self.excess[first.other] += from_first * kept;
                for (second, fill) in mine.iter().skip(index + 1).zip(&mut fills) {
                    let (to_second, from_second) = second.seen(&self.pairs);
                    // Flow from the first through this node to the second, and back.
                    let forwards = from_first / step.diagonal * to_second;
                    let backwards = from_second / step.diagonal * to_first;
                    self.pairs[fill.pair].gain(fill.upwards, forwards, backwards);
                }
            }
        }
        true
    }

    fn solve(&self, values: &mut IndexVec<LiveNode, f64>, scratch: &mut IndexVec<LoopNode, f64>) {
        scratch.clear();
        scratch.extend(self.nodes.iter().map(|&node| values[node]));
        let mut links = self.links.as_slice();
        for step in &self.order {
            let (mine, rest) = links.split_at(step.degree);
            links = rest;
            let own = scratch[step.node] / step.diagonal;
            for half in mine {
                scratch[half.other] += own * half.seen(&self.pairs).0;
            }
        }
        let mut links = self.links.as_slice();
        for step in self.order.iter().rev() {
            let (rest, mine) = links.split_at(links.len() - step.degree);
            links = rest;
            let given: f64 = mine
                .iter()
                .map(|half| half.seen(&self.pairs).1 * scratch[half.other])
                .sum();
            let value = &mut scratch[step.node];
            *value = (*value + given) / step.diagonal;
        }
        for (&node, &found) in self.nodes.iter().zip(scratch.iter()) {
            values[node] = found;
        }
    }
}

impl Half {
    /// Derivative of the other's balance by this one's pressure, and the reverse.
    fn seen(&self, pairs: &IndexVec<PairId, Pair>) -> (f64, f64) {
        let Pair { higher, lower } = pairs[self.pair];
        if self.upwards { (higher, lower) } else { (lower, higher) }
    }
}

impl Pair {
    /// Adds to the derivatives in the direction of an edge, and in the reverse direction.
    fn gain(&mut self, upwards: bool, forwards: f64, backwards: f64) {
        self.higher += if upwards { forwards } else { backwards };
        self.lower += if upwards { backwards } else { forwards };
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// The product of the full matrix with `x`, and the sums of magnitudes in each row.
    fn product(case: &Case, x: &IndexVec<LiveNode, f64>) -> (IndexVec<LiveNode, f64>, IndexVec<LiveNode, f64>) {
        let mut y: IndexVec<_, f64> = case.own.iter().zip(x).map(|(own, x)| own * x).collect();
        let mut sizes: IndexVec<_, f64> = y.iter().map(|y| y.abs()).collect();
        for (edge, slope) in case.edges.iter().zip(&case.slopes) {
            let (before, behind) = (slope.before * x[edge.from], slope.behind * x[edge.to]);
            y[edge.from] += before - behind;
            y[edge.to] -= before - behind;
            for end in [edge.from, edge.to] {
                sizes[end] += before.abs() + behind.abs();
            }
        }
        (y, sizes)
    }

    #[derive(Clone, Debug)]
    struct Case {
        edges: IndexVec<LiveLink, Edge>,
        slopes: IndexVec<LiveLink, FlowAndSlopes>,
        own: IndexVec<LiveNode, f64>,
        x: IndexVec<LiveNode, f64>,
    }

    fn edge(from: usize, to: usize) -> Edge {
        Edge {
            from: from.into(),
            to: to.into(),
        }
    }

    prop_compose! {
        fn graph()(nodes in 1_usize..40)(
            nodes in Just(nodes),
            parents in prop::collection::vec(any::<prop::sample::Index>(), nodes - 1),
            extra in prop::collection::vec((0..nodes, 0..nodes), 0..6),
            figures in prop::collection::vec((0.01_f64..10.0, 0.01_f64..10.0), nodes + 6),
            x in prop::collection::vec(-10.0_f64..10.0, nodes),
        ) -> Case {
            let mut edges: IndexVec<LiveLink, Edge> = (1..)
                .zip(&parents)
                .map(|(node, parent)| edge(parent.index(node), node))
                .collect();
            edges.extend(extra.into_iter().map(|(from, to)| edge(from, to)));
            let slopes = figures
                .iter()
                .take(edges.len())
                .map(|&(before, behind)| FlowAndSlopes { flow: 0.0, before, behind })
                .collect();
            let mut own = IndexVec::filled(0.0, nodes);
            own[LiveNode::from(0)] = 1.0;
            Case { edges, slopes, own, x: x.into() }
        }
    }

    proptest! {
        #[test]
        fn answers_are_answers(case in graph()) {
            let mut equations = Equations::new(case.own.len(), &case.edges);
            prop_assert!(equations.factor(&case.edges, &case.slopes, &case.own));
            let (balances, given) = product(&case, &case.x);
            let mut values = balances.clone();
            equations.solve(&mut values);
            // A few of these matrices are so ill-conditioned that the rounding of the balances alone changes the
            // solution by more than 1e-6. For all of them, however, the solution reproduces the balances.
            let (made_up, found) = product(&case, &values);
            for (node, balance) in balances.enumerated() {
                let size = given[node] + found[node];
                prop_assert!(
                    (made_up[node] - balance).abs() <= 1e-12 * size,
                    "{node:?}: {}, and {balance} is wanted", made_up[node]
                );
            }
        }
    }

    #[test]
    fn what_seeps_is_not_lost_beside_what_flows() {
        // A closed valve (1e-29) between a supply and four fittings (3e-9) in a ring: the pressure behind it still
        // equals that before it.
        let all = [(0, 1), (1, 2), (2, 3), (3, 4), (4, 1)].map(|(from, to)| edge(from, to));
        let even = |figure| FlowAndSlopes {
            flow: 0.0,
            before: figure,
            behind: figure,
        };
        for ring in [5, 4] {
            let edges: IndexVec<LiveLink, Edge> = all.into_iter().take(ring).collect();
            let mut slopes: IndexVec<LiveLink, FlowAndSlopes> = IndexVec::filled(even(3e-9), ring);
            slopes[LiveLink::from(0)] = even(1e-29);
            let own: IndexVec<LiveNode, f64> = vec![3e-6, 0.0, 0.0, 0.0, 0.0].into();
            let mut equations = Equations::new(5, &edges);
            assert!(equations.factor(&edges, &slopes, &own));
            let mut values: IndexVec<LiveNode, f64> = vec![3e-6, 0.0, 0.0, 0.0, 0.0].into();
            equations.solve(&mut values);
            for value in values {
                assert!((value - 1.0).abs() < 1e-12, "{value}");
            }
        }
    }
}
