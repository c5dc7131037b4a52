//! The linear equations of a Newton step.
//!
//! Office networks are trees with a few loops. So the equations are eliminated leaf by leaf first, which is exact, touches
//! every node once and fills nothing in; what is left over are the loops, and those go to `faer`'s sparse LU with its
//! column ordering. An office without loops never gets there.
//!
//! Weighed for the loops: a minimum-degree elimination of our own (some hundred lines, nothing to compile), `sprs`
//! and `nalgebra-sparse` (Cholesky only, while a regulator's outlet acts on its supply and not the other way round, so that the
//! matrix is not symmetric), and `faer`, which is kept up, orders unsymmetric matrices well and pivots, at the price of some
//! 90 seconds of one core to compile once. Measured on whole matrices without the leaves taken off, `faer` needs 8 µs for
//! the ordering and 5 µs a step at 30 nodes, 2.6 ms and 1.2 ms at 10,000.
//!
//! Taking off leaves needs no subtraction. Column j of the matrix holds on its diagonal what the flows out of node j gain
//! from its own pressure, and off it the same figures with their sign turned, for the nodes that those flows go to. So a
//! diagonal is its column's off-diagonals plus an *excess*, what leaves the network there; and a leaf that is taken off
//! hands its excess on to its neighbour in the part that its own pressure does not hold back. All terms are positive, and
//! neither a closed valve's seepage nor a fitting's conductance, fifteen orders of magnitude apart, is lost in the other.

use faer::linalg::solvers::Solve as _;
use faer::prelude::MatMut;
use faer::sparse::linalg::solvers::{Lu, SymbolicLu};
use faer::sparse::{Pair, SparseColMat, SymbolicSparseColMat, Argsort};

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

/// What remains when all leaves are taken off.
struct Loops {
    /// Its nodes.
    nodes: Vec<u32>,
    /// Its edges, with the places of their ends among `nodes`.
    edges: Vec<(u32, u32, u32)>,
    pattern: SymbolicSparseColMat<usize>,
    order: Argsort<usize>,
    symbolic: SymbolicLu<usize>,
    factors: Option<Lu<usize, f64>>,
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
    /// None if the loops cannot be ordered, which takes more memory than there is.
    pub fn new(nodes: usize, edges: &[Edge]) -> Option<Self> {
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
            Some(Loops::new(nodes, core, edges)?)
        };
        Some(Self {
            leaves,
            roots,
            loops,
            excess: Vec::with_capacity(nodes),
        })
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

impl Loops {
    fn new(all: usize, nodes: Vec<u32>, edges: &[Edge]) -> Option<Self> {
        let mut place = vec![u32::MAX; all];
        for (index, &node) in (0_u32..).zip(&nodes) {
            if let Some(slot) = place.get_mut(node as usize) {
                *slot = index;
            }
        }
        let within: Vec<(u32, u32, u32)> = (0_u32..)
            .zip(edges)
            .map(|(number, edge)| (at(&place, edge.from), at(&place, edge.to), number))
            .filter(|&(from, to, _)| from != u32::MAX && to != u32::MAX && from != to)
            .collect();
        let pair = |row: u32, col: u32| Pair {
            row: row as usize,
            col: col as usize,
        };
        let mut pairs: Vec<_> = (0..nodes.len() as u32).map(|node| pair(node, node)).collect();
        for &(from, to, _) in &within {
            pairs.push(pair(to, from));
            pairs.push(pair(from, to));
        }
        let (pattern, order) = SymbolicSparseColMat::try_new_from_indices(nodes.len(), nodes.len(), &pairs).ok()?;
        let symbolic = SymbolicLu::try_new(pattern.as_ref()).ok()?;
        Some(Self {
            nodes,
            edges: within,
            pattern,
            order,
            symbolic,
            factors: None,
        })
    }

    fn factor(&mut self, slopes: &[Through], excess: &[f64]) -> bool {
        let mut values: Vec<f64> = self.nodes.iter().map(|&node| at(excess, node)).collect();
        values.reserve(2 * self.edges.len());
        for &(from, to, number) in &self.edges {
            let slope = at(slopes, number);
            add(&mut values, from, slope.before);
            add(&mut values, to, slope.behind);
            values.push(-slope.before);
            values.push(-slope.behind);
        }
        self.factors = None;
        if !values.iter().all(|value| value.is_finite()) {
            return false;
        }
        let Ok(matrix) = SparseColMat::new_from_argsort(self.pattern.clone(), &self.order, &values) else {
            return false;
        };
        self.factors = Lu::try_new_with_symbolic(self.symbolic.clone(), matrix.as_ref()).ok();
        self.factors.is_some()
    }

    fn solve(&self, values: &mut [f64], scratch: &mut Vec<f64>) {
        let Some(factors) = &self.factors else { return };
        scratch.clear();
        scratch.extend(self.nodes.iter().map(|&node| at(values, node)));
        factors.solve_in_place(MatMut::from_column_major_slice_mut(scratch, self.nodes.len(), 1));
        for (&node, &found) in self.nodes.iter().zip(scratch.iter()) {
            if let Some(value) = values.get_mut(node as usize) {
                *value = found;
            }
        }
    }
}
