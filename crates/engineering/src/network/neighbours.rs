//! The links at each node.

use std::ops::Range;

use crate::index::{IndexNumber, IndexVec};

/// The links at each node, in compressed form: concatenated lists.
pub(super) struct Neighbours<N, L> {
    /// Range of each node's list in `links`.
    lists: IndexVec<N, Range<usize>>,
    /// The link, and whether the node is at its start.
    links: Vec<(L, bool)>,
}

#[expect(clippy::indexing_slicing, reason = "all ranges are those that `new` counted")]
impl<N: IndexNumber, L: IndexNumber> Neighbours<N, L> {
    /// Builds the lists. `ends` gives start and end of each link, in the order of the links.
    pub fn new(nodes: usize, ends: impl Iterator<Item = (N, N)> + Clone) -> Self {
        let mut lists: IndexVec<N, Range<usize>> = IndexVec::filled(0..0, nodes);
        for (from, to) in ends.clone() {
            lists[from].end += 1;
            lists[to].end += 1;
        }
        let mut sum = 0;
        for list in &mut lists {
            sum += list.end;
            *list = sum..sum;
        }
        // Filled from the back: each range's start moves down to its beginning.
        let mut links = vec![(L::from(0), false); sum];
        for (number, (from, to)) in ends.enumerate() {
            for (node, forwards) in [(from, true), (to, false)] {
                let list = &mut lists[node];
                list.start -= 1;
                links[list.start] = (L::from(number), forwards);
            }
        }
        Self { lists, links }
    }

    /// The links at a node, each with a flag that is true if the node is at its start.
    pub fn of(&self, node: N) -> &[(L, bool)] {
        &self.links[self.lists[node].clone()]
    }
}
