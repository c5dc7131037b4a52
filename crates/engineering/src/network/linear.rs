//! The linear equations of a Newton step.
//!
//! Office networks are trees with a few loops. So the equations are eliminated leaf by leaf first, which touches every node
//! once and fills nothing in; what is left over are the loops, eliminated in the order of least degree. An office without
//! loops never gets there.
//!
//! # Without a single subtraction
//!
//! Column j of the matrix holds on its diagonal what the flows out of node j gain from its own pressure, and off it the same
//! figures with their sign turned, for the nodes that those flows go to. So a diagonal is its column's off-diagonals plus
//! an *excess*, what leaves the network there; and a node that is eliminated hands its excess on to its neighbours, in the
//! part that its own pressure does not hold back. All terms are positive, so every pivot is exact to rounding, whatever
//! the figures (the elimination of Grassmann, Taksar and Heyman, 1985, from memory). That matters here: a closed valve's
//! seepage (1e-29) decides the pressure of a part that is shut off, and occurs beside fittings (3e-9) and supplies (3e-6).
//!
//! # Why not a linear-algebra crate
//!
//! `faer` 0.24 was built in for the loops, and taken out again. Its sparse LU is well kept and fast enough (8 µs for the
//! ordering and 5 µs a step at 30 nodes, 2.6 ms and 1.2 ms at 10,000), but like every LU it subtracts on the diagonal: in a
//! looped part behind closed valves, seepage is twenty orders of magnitude below the fittings, and the last pivot is nothing
//! but rounding. It also takes 92 s of one core to compile and dozens of crates. `sprs` and `nalgebra-sparse` offer Cholesky only,
//! while a regulator's outlet acts on its supply and not the other way round, so that the matrix is not symmetric. Where
//! `faer` would win is a dense net of pipes: a square grid of 10,000 nodes takes 0.4 s here.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::laws::Through;
use super::live::{Edge, LiveLink, LiveNode};
use crate::index::IndexVec;
use crate::index_type;

index_type! {
    /// A node of the loops, by its number among these: what is left when all leaves are taken off.
    struct LoopNode;
    /// Two nodes of the loops that an edge, or what an eliminated node leaves behind, joins.
    struct PairId;
}

/// A node taken off, and the neighbour and edge that it hung by.
#[derive(Clone, Copy, Debug)]
struct Leaf {
    node: LiveNode,
    parent: LiveNode,
    edge: LiveLink,
    /// Its diagonal once all leaves before it are taken off.
    diagonal: f64,
    /// What the neighbour's balance gains from this node's pressure.
    column: f64,
    /// What this node's balance gains from the neighbour's pressure.
    row: f64,
}

/// What remains when all leaves are taken off.
#[derive(Clone)]
struct Loops {
    /// The live node behind each number.
    nodes: IndexVec<LoopNode, LiveNode>,
    edges: Vec<LoopEdge>,
    /// Nodes in the order of their elimination.
    order: Vec<Eliminated>,
    /// The pairs that each node has when its turn comes, one node after the other.
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
    /// True if the edge leads from the lower number to the higher.
    upwards: bool,
}

/// A pair that the elimination of a neighbour of both adds to.
#[derive(Clone, Copy, Debug)]
struct Fill {
    pair: PairId,
    /// True if the second of the two neighbours has the higher number.
    upwards: bool,
}

/// What the balances of two nodes gain from each other's pressure.
#[derive(Clone, Copy, Debug, Default)]
struct Pair {
    /// What the higher node's balance gains from the lower's pressure.
    higher: f64,
    /// What the lower node's balance gains from the higher's pressure.
    lower: f64,
}

#[derive(Clone, Copy, Debug)]
struct Eliminated {
    node: LoopNode,
    /// Number of its pairs when its turn comes.
    degree: usize,
    diagonal: f64,
}

/// A pair as one of its nodes sees it.
#[derive(Clone, Copy, Debug)]
struct Half {
    other: LoopNode,
    pair: PairId,
    /// True if the other has the higher number.
    upwards: bool,
}

/// The equations of one network, whose figures change from step to step while their pattern stays.
#[derive(Clone)]
pub(super) struct Equations {
    leaves: Vec<Leaf>,
    /// Nodes without neighbours once the leaves are off, with their diagonal.
    roots: Vec<(LiveNode, f64)>,
    loops: Option<Loops>,
    excess: IndexVec<LiveNode, f64>,
    /// Values of the loops' nodes while the equations are solved.
    scratch: IndexVec<LoopNode, f64>,
}

/// The neighbours that a node still has while leaves are removed.
#[derive(Clone, Copy)]
struct Hanging {
    edges: u32,
    /// The exclusive or of the edges' numbers, which is the number of the last one when only one is left.
    which: usize,
    /// Whether the node has been taken off itself.
    is_off: bool,
}

impl Equations {
    /// Finds the order of elimination.
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
                // On to the neighbour only if this pass has been there already.
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

    /// Takes in new slopes of the links and new `own` slopes of what leaves the network at each node. False if the equations
    /// have no single answer.
    pub fn factor(
        &mut self,
        edges: &IndexVec<LiveLink, Edge>,
        slopes: &IndexVec<LiveLink, Through>,
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

    /// Turns balances into the changes of P that make them up, in place.
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

/// Pairs of nodes while the order of elimination is sought.
struct Pairs {
    of: IndexVec<LoopNode, Vec<Half>>,
    count: usize,
}

impl Pairs {
    /// The pair of two nodes, which is made if there is none.
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

    /// Takes a node out, and gives back the pairs that it had.
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

    fn factor(&mut self, slopes: &IndexVec<LiveLink, Through>, excess: &IndexVec<LiveNode, f64>) -> bool {
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
                    // What passes from the first through this node to the second, and back.
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
    /// What the other's balance gains from this one's pressure, and this one's from the other's.
    fn seen(&self, pairs: &IndexVec<PairId, Pair>) -> (f64, f64) {
        let Pair { higher, lower } = pairs[self.pair];
        if self.upwards { (higher, lower) } else { (lower, higher) }
    }
}

impl Pair {
    /// Adds what the balance of the node that an edge leads to gains from the other's pressure, and the other way round.
    fn gain(&mut self, upwards: bool, forwards: f64, backwards: f64) {
        self.higher += if upwards { forwards } else { backwards };
        self.lower += if upwards { backwards } else { forwards };
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// What the matrix, written out, makes of `x`, and the sum of the magnitudes that each row adds up.
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
        slopes: IndexVec<LiveLink, Through>,
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
                .map(|&(before, behind)| Through { flow: 0.0, before, behind })
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
            // A few of these matrices are so ill-conditioned that the rounding of the balances alone moves the answer by more
            // than 1e-6. What holds of every one is that the answer makes up the balances.
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
        // A closed valve (1e-29) between a supply and four fittings (3e-9) in a ring: the pressure behind it is still that
        // before it.
        let all = [(0, 1), (1, 2), (2, 3), (3, 4), (4, 1)].map(|(from, to)| edge(from, to));
        let even = |figure| Through {
            flow: 0.0,
            before: figure,
            behind: figure,
        };
        for ring in [5, 4] {
            let edges: IndexVec<LiveLink, Edge> = all.into_iter().take(ring).collect();
            let mut slopes: IndexVec<LiveLink, Through> = IndexVec::filled(even(3e-9), ring);
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
