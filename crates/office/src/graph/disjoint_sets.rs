use drysheath_engineering::index::{IndexNumber, IndexVec};

/// Sets of numbered items that have no item in common (union-find). Each set is identified by its first item.
#[derive(Debug)]
pub struct DisjointSets<K> {
    /// An earlier item of the same set, or the item itself if it is the first.
    parents: IndexVec<K, K>,
}

impl<K: IndexNumber + Ord> DisjointSets<K> {
    /// Sets of one item each.
    pub fn new(items: usize) -> Self {
        Self {
            parents: (0..items).map(K::from).collect(),
        }
    }

    /// Joins the sets of two items. Returns whether they were different.
    pub fn join(&mut self, one: K, other: K) -> bool {
        let (one, other) = (self.first(one), self.first(other));
        self.parents[one.max(other)] = one.min(other);
        one != other
    }

    /// The first item of the set that an item is in.
    pub fn first(&mut self, mut item: K) -> K {
        while self.parents[item] != item {
            // Path halving, to speed up later lookups.
            let grandparent = self.parents[self.parents[item]];
            self.parents[item] = grandparent;
            item = grandparent;
        }
        item
    }
}

#[cfg(test)]
mod tests {
    use super::DisjointSets;

    #[test]
    fn joined_items_have_one_first() {
        let mut sets = DisjointSets::<usize>::new(5);
        assert!(sets.join(3, 4));
        assert!(sets.join(1, 3));
        assert!(!sets.join(4, 1));
        assert_eq!((sets.first(4), sets.first(2)), (1, 2));
    }
}
