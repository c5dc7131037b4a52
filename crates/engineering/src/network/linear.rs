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
//! seepage (1e-29) decides the pressure of a part that is shut off, and stands beside fittings (3e-9) and supplies (3e-6).
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

/// Two nodes that a link joins.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub from: u32,
    pub to: u32,
}

/// A node taken off, and the neighbour and edge that it hung by.
#[derive(Clone, Copy, Debug)]
struct Leaf {
    node: u32,
    parent: u32,
    edge: u32,
    /// Diagonal.
    diagonal: f64,
    /// What the neighbour's balance gains from this node's pressure.
    column: f64,
    /// What this node's balance gains from the neighbour's pressure.
    row: f64,
}

/// What remains when all leaves are taken off. Its nodes are numbered anew, in the order of the network.
struct Loops {
    /// The network's node behind each number.
    nodes: Vec<u32>,
    /// Pair of nodes of each edge, and its number in the network; true if the edge leads from the lower number to the higher.
    edges: Vec<(u32, bool, u32)>,
    /// Nodes in the order of their elimination.
    order: Vec<Eliminated>,
    /// The pairs that each node has when its turn comes, one node after the other.
    links: Vec<Half>,
    /// The pairs among those neighbours, first with second, first with third, second with third…
    fills: Vec<(u32, bool)>,
    /// Of each pair: what the higher node's balance gains from the lower's pressure, and the lower's from the higher's.
    pairs: Vec<(f64, f64)>,
    excess: Vec<f64>,
}

#[derive(Clone, Copy, Debug)]
struct Eliminated {
    node: u32,
    /// How many links it has.
    degree: u32,
    diagonal: f64,
}

/// A pair as one of its nodes sees it.
#[derive(Clone, Copy, Debug, Default)]
struct Half {
    other: u32,
    pair: u32,
    /// True if the other has the higher number.
    upwards: bool,
}

/// The equations of one network, whose figures change from step to step while their pattern stays.
pub(super) struct Equations {
    leaves: Vec<Leaf>,
    /// Nodes that stand alone once the leaves are off, with their diagonal.
    roots: Vec<(u32, f64)>,
    loops: Option<Loops>,
    excess: Vec<f64>,
}

fn at<T: Copy + Default>(values: &[T], index: u32) -> T {
    values.get(index as usize).copied().unwrap_or_default()
}

fn add(values: &mut [f64], index: u32, more: f64) {
    if let Some(value) = values.get_mut(index as usize) {
        *value += more;
    }
}

impl Equations {
    /// Finds the order of elimination.
    pub fn new(nodes: usize, edges: &[Edge]) -> Self {
        // Of each node: how many edges still hang on it, and the exclusive or of their numbers, which is the number of the
        // last one when only one is left.
        let mut hanging = vec![(0_u32, 0_u32); nodes];
        for (number, edge) in (0_u32..).zip(edges) {
            for end in [edge.from, edge.to] {
                if edge.from == edge.to {
                    continue;
                }
                if let Some((count, which)) = hanging.get_mut(end as usize) {
                    *count += 1;
                    *which ^= number;
                }
            }
        }
        let mut leaves = Vec::with_capacity(nodes);
        let mut roots = Vec::new();
        for start in 0..nodes as u32 {
            let mut node = start;
            while let (1, number) = at(&hanging, node) {
                let Some(edge) = edges.get(number as usize) else { break };
                let parent = if edge.from == node { edge.to } else { edge.from };
                leaves.push(Leaf {
                    node,
                    parent,
                    edge: number,
                    diagonal: 1.0,
                    column: 0.0,
                    row: 0.0,
                });
                // Marked as taken off: no count comes back to this.
                if let Some(taken) = hanging.get_mut(node as usize) {
                    *taken = (u32::MAX, 0);
                }
                if let Some((count, which)) = hanging.get_mut(parent as usize) {
                    *count -= 1;
                    *which ^= number;
                }
                // On to the neighbour only if this pass has been there already.
                if parent > start {
                    break;
                }
                node = parent;
            }
        }
        let mut core = Vec::new();
        for (node, &(count, _)) in (0_u32..).zip(&hanging) {
            match count {
                u32::MAX => {}
                0 => roots.push((node, 1.0)),
                _ => core.push(node),
            }
        }
        let loops = if core.is_empty() {
            None
        } else {
            Some(Loops::new(nodes, core, edges))
        };
        Self {
            leaves,
            roots,
            loops,
            excess: Vec::with_capacity(nodes),
        }
    }

    /// Takes in new slopes of the links and new `own` slopes of what leaves the network at each node. False if the equations
    /// have no single answer.
    pub fn factor(&mut self, edges: &[Edge], slopes: &[Through], own: &[f64]) -> bool {
        self.excess.clear();
        self.excess.extend_from_slice(own);
        for leaf in &mut self.leaves {
            let (Some(edge), slope) = (edges.get(leaf.edge as usize), at(slopes, leaf.edge)) else {
                return false;
            };
            (leaf.column, leaf.row) = if edge.from == leaf.node {
                (slope.before, slope.behind)
            } else {
                (slope.behind, slope.before)
            };
            let excess = at(&self.excess, leaf.node);
            leaf.diagonal = excess + leaf.column;
            add(&mut self.excess, leaf.parent, leaf.row * (excess / leaf.diagonal));
        }
        for (node, diagonal) in &mut self.roots {
            *diagonal = at(&self.excess, *node);
        }
        match &mut self.loops {
            None => true,
            Some(loops) => loops.factor(slopes, &self.excess),
        }
    }

    /// Turns balances into the changes of P that make them up. `values` holds one and then the other.
    pub fn solve(&self, values: &mut [f64], scratch: &mut Vec<f64>) {
        for leaf in &self.leaves {
            let own = at(values, leaf.node);
            add(values, leaf.parent, own * (leaf.column / leaf.diagonal));
        }
        for &(node, diagonal) in &self.roots {
            if let Some(value) = values.get_mut(node as usize) {
                *value /= diagonal;
            }
        }
        if let Some(loops) = &self.loops {
            loops.solve(values, scratch);
        }
        for leaf in self.leaves.iter().rev() {
            let parent = at(values, leaf.parent);
            if let Some(value) = values.get_mut(leaf.node as usize) {
                *value = (*value + leaf.row * parent) / leaf.diagonal;
            }
        }
    }
}

/// Pairs of nodes while the order of elimination is sought.
#[derive(Default)]
struct Pairs {
    of: Vec<Vec<Half>>,
    count: u32,
}

impl Pairs {
    /// The pair of two nodes, which is made if there is none.
    fn between(&mut self, one: u32, two: u32) -> u32 {
        let found = self.list(one).iter().find(|half| half.other == two);
        if let Some(half) = found {
            return half.pair;
        }
        let pair = self.count;
        self.count += 1;
        for (node, other) in [(one, two), (two, one)] {
            if let Some(list) = self.of.get_mut(node as usize) {
                list.push(Half {
                    other,
                    pair,
                    upwards: other > node,
                });
            }
        }
        pair
    }

    fn list(&self, node: u32) -> &[Half] {
        self.of.get(node as usize).map_or(&[], Vec::as_slice)
    }

    /// Takes a node out, and gives back the pairs that it had.
    fn take(&mut self, node: u32) -> Vec<Half> {
        let taken = self.of.get_mut(node as usize).map(std::mem::take).unwrap_or_default();
        for half in &taken {
            if let Some(list) = self.of.get_mut(half.other as usize) {
                list.retain(|back| back.other != node);
            }
        }
        taken
    }
}

impl Loops {
    fn new(all: usize, nodes: Vec<u32>, edges: &[Edge]) -> Self {
        let mut place = vec![u32::MAX; all];
        for (index, &node) in (0_u32..).zip(&nodes) {
            if let Some(slot) = place.get_mut(node as usize) {
                *slot = index;
            }
        }
        let mut pairs = Pairs {
            of: vec![Vec::new(); nodes.len()],
            count: 0,
        };
        let mut within = Vec::new();
        for (number, edge) in (0_u32..).zip(edges) {
            let (from, to) = (at(&place, edge.from), at(&place, edge.to));
            if from != u32::MAX && to != u32::MAX && from != to {
                within.push((pairs.between(from, to), from < to, number));
            }
        }
        let mut queue: BinaryHeap<_> = (0..nodes.len() as u32)
            .map(|node| Reverse((pairs.list(node).len(), node)))
            .collect();
        let mut done = vec![false; nodes.len()];
        let (mut order, mut links, mut fills) = (Vec::with_capacity(nodes.len()), Vec::new(), Vec::new());
        while let Some(Reverse((degree, node))) = queue.pop() {
            if at(&done, node) || degree != pairs.list(node).len() {
                continue;
            }
            if let Some(done) = done.get_mut(node as usize) {
                *done = true;
            }
            let taken = pairs.take(node);
            for (index, first) in taken.iter().enumerate() {
                for second in taken.iter().skip(index + 1) {
                    fills.push((pairs.between(first.other, second.other), second.other > first.other));
                }
            }
            for half in &taken {
                queue.push(Reverse((pairs.list(half.other).len(), half.other)));
            }
            order.push(Eliminated {
                node,
                degree: degree as u32,
                diagonal: 1.0,
            });
            links.extend(taken);
        }
        Self {
            excess: Vec::with_capacity(nodes.len()),
            nodes,
            edges: within,
            order,
            links,
            fills,
            pairs: vec![(0.0, 0.0); pairs.count as usize],
        }
    }

    fn factor(&mut self, slopes: &[Through], excess: &[f64]) -> bool {
        self.excess.clear();
        self.excess.extend(self.nodes.iter().map(|&node| at(excess, node)));
        self.pairs.fill((0.0, 0.0));
        for &(pair, upwards, number) in &self.edges {
            let slope = at(slopes, number);
            gain(&mut self.pairs, pair, upwards, slope.before, slope.behind);
        }
        let (mut links, mut fills) = (self.links.as_slice(), self.fills.as_slice());
        for step in &mut self.order {
            let (mine, rest) = links.split_at_checked(step.degree as usize).unwrap_or((links, &[]));
            links = rest;
            let excess = at(&self.excess, step.node);
            let given: f64 = mine.iter().map(|half| seen(&self.pairs, half).0).sum();
            step.diagonal = excess + given;
            if !(step.diagonal > 0.0 && step.diagonal.is_finite()) {
                return false;
            }
            let kept = excess / step.diagonal;
            for (index, first) in mine.iter().enumerate() {
                let (to_first, from_first) = seen(&self.pairs, first);
                add(&mut self.excess, first.other, from_first * kept);
                for second in mine.iter().skip(index + 1) {
                    let Some((&(pair, upwards), rest)) = fills.split_first() else {
                        return false;
                    };
                    fills = rest;
                    let (to_second, from_second) = seen(&self.pairs, second);
                    // What passes from the first through this node to the second, and back.
                    let forwards = from_first / step.diagonal * to_second;
                    let backwards = from_second / step.diagonal * to_first;
                    gain(&mut self.pairs, pair, upwards, forwards, backwards);
                }
            }
        }
        true
    }

    fn solve(&self, values: &mut [f64], scratch: &mut Vec<f64>) {
        scratch.clear();
        scratch.extend(self.nodes.iter().map(|&node| at(values, node)));
        let mut links = self.links.as_slice();
        for step in &self.order {
            let (mine, rest) = links.split_at_checked(step.degree as usize).unwrap_or((links, &[]));
            links = rest;
            let own = at(scratch, step.node) / step.diagonal;
            for half in mine {
                add(scratch, half.other, own * seen(&self.pairs, half).0);
            }
        }
        let mut links = self.links.as_slice();
        for step in self.order.iter().rev() {
            let (rest, mine) = links
                .split_at_checked(links.len().saturating_sub(step.degree as usize))
                .unwrap_or((&[], links));
            links = rest;
            let given: f64 = mine
                .iter()
                .map(|half| seen(&self.pairs, half).1 * at(scratch, half.other))
                .sum();
            if let Some(value) = scratch.get_mut(step.node as usize) {
                *value = (*value + given) / step.diagonal;
            }
        }
        for (&node, &found) in self.nodes.iter().zip(scratch.iter()) {
            if let Some(value) = values.get_mut(node as usize) {
                *value = found;
            }
        }
    }
}

/// Of a pair as one node sees it: what the other's balance gains from this one's pressure, and this one's from the other's.
fn seen(pairs: &[(f64, f64)], half: &Half) -> (f64, f64) {
    let (higher, lower) = at(pairs, half.pair);
    if half.upwards { (higher, lower) } else { (lower, higher) }
}

/// Adds to a pair what the balance of the node that its edge leads to gains from the other's pressure, and the other way
/// round.
fn gain(pairs: &mut [(f64, f64)], pair: u32, upwards: bool, forwards: f64, backwards: f64) {
    if let Some((higher, lower)) = pairs.get_mut(pair as usize) {
        *higher += if upwards { forwards } else { backwards };
        *lower += if upwards { backwards } else { forwards };
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]

    use proptest::prelude::*;

    use super::*;

    /// What the matrix, written out, makes of `x`.
    fn product(edges: &[Edge], slopes: &[Through], own: &[f64], x: &[f64]) -> Vec<f64> {
        let mut y: Vec<f64> = own.iter().zip(x).map(|(own, x)| own * x).collect();
        for (edge, slope) in edges.iter().zip(slopes) {
            let (from, to) = (edge.from as usize, edge.to as usize);
            let flow = slope.before * x[from] - slope.behind * x[to];
            y[from] += flow;
            y[to] -= flow;
        }
        y
    }

    prop_compose! {
        fn graph()(nodes in 1_usize..40)(
            nodes in Just(nodes),
            parents in prop::collection::vec(any::<prop::sample::Index>(), nodes - 1),
            extra in prop::collection::vec((0..nodes as u32, 0..nodes as u32), 0..6),
            figures in prop::collection::vec((0.01_f64..10.0, 0.01_f64..10.0), nodes + 6),
            x in prop::collection::vec(-10.0_f64..10.0, nodes),
        ) -> (Vec<Edge>, Vec<Through>, Vec<f64>, Vec<f64>) {
            let mut edges: Vec<Edge> = (1_u32..)
                .zip(&parents)
                .map(|(node, parent)| Edge { from: parent.index(node as usize) as u32, to: node })
                .collect();
            edges.extend(extra.into_iter().map(|(from, to)| Edge { from, to }));
            let slopes = figures
                .iter()
                .take(edges.len())
                .map(|&(before, behind)| Through { flow: 0.0, before, behind })
                .collect();
            let mut own = vec![0.0; nodes];
            own[0] = 1.0;
            (edges, slopes, own, x)
        }
    }

    proptest! {
        #[test]
        fn answers_are_answers((edges, slopes, own, x) in graph()) {
            let mut equations = Equations::new(own.len(), &edges);
            prop_assert!(equations.factor(&edges, &slopes, &own));
            let mut values = product(&edges, &slopes, &own, &x);
            equations.solve(&mut values, &mut Vec::new());
            for (found, expected) in values.iter().zip(&x) {
                prop_assert!((found - expected).abs() < 1e-6, "{values:?}, expected {x:?}");
            }
        }
    }

    #[test]
    fn what_seeps_is_not_lost_beside_what_flows() {
        // A closed valve (1e-29) between a supply and four fittings (3e-9) in a ring: the pressure behind it is still that
        // before it.
        let edges = [(0, 1), (1, 2), (2, 3), (3, 4), (4, 1)].map(|(from, to)| Edge { from, to });
        let even = |figure| Through {
            flow: 0.0,
            before: figure,
            behind: figure,
        };
        for ring in [5, 4] {
            let edges = edges.get(..ring).unwrap();
            let mut slopes = vec![even(3e-9); ring];
            slopes[0] = even(1e-29);
            let own = [3e-6, 0.0, 0.0, 0.0, 0.0];
            let mut equations = Equations::new(5, edges);
            assert!(equations.factor(edges, &slopes, &own));
            let mut values = vec![3e-6, 0.0, 0.0, 0.0, 0.0];
            equations.solve(&mut values, &mut Vec::new());
            for value in values {
                assert!((value - 1.0).abs() < 1e-12, "{value}");
            }
        }
    }
}
