//! Lists indexed by a type of their own.
//!
//! A plain `Vec` accepts any number. Here the compiler rejects the index of a link where that of a node is expected. An
//! index from another list panics: it is a mistake in the program, which must not continue with the figures of another
//! item.
//!
//! Crates for this (`typed-index-collections`, `oxc_index`, `index_vec`) also offer `get`, so clippy's lint against
//! slice indexing takes them for slices and would have to be disabled wherever they are used.

use std::marker::PhantomData;
use std::ops::{Index, IndexMut};
use std::slice;
use std::vec;

/// Index of an item in an [`IndexVec`], declared by [`index_type!`](crate::index_type).
pub trait IndexNumber: Copy + From<usize> + Into<usize> {}

impl<T: Copy + From<usize> + Into<usize>> IndexNumber for T {}

/// Declares a type for indices into one kind of list.
#[macro_export]
macro_rules! index_type {
    ($($(#[$attribute:meta])* $visibility:vis struct $name:ident;)+) => {$(
        $(#[$attribute])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        $visibility struct $name(u32);

        impl From<usize> for $name {
            fn from(number: usize) -> Self {
                Self(number as u32)
            }
        }

        impl From<$name> for usize {
            fn from(id: $name) -> Self {
                id.0 as usize
            }
        }

        impl From<$name> for u32 {
            fn from(id: $name) -> Self {
                id.0
            }
        }
    )+};
}

/// A list of items indexed by `K`, from 0.
#[derive(Debug, PartialEq, Eq)]
pub struct IndexVec<K, V> {
    items: Vec<V>,
    key: PhantomData<fn(K) -> K>,
}

impl<K, V> IndexVec<K, V> {
    /// Creates an empty list.
    pub const fn new() -> Self {
        Self {
            items: Vec::new(),
            key: PhantomData,
        }
    }

    /// Creates an empty list with room for a number of items.
    pub fn with_capacity(capacity: usize) -> Self {
        Vec::with_capacity(capacity).into()
    }

    /// Number of items in the list.
    pub fn len(&self) -> usize {
        self.items.len()
    }

    /// Whether there are no items.
    pub fn is_empty(&self) -> bool {
        self.items.is_empty()
    }

    /// Iterates over the items in order.
    pub fn iter(&self) -> slice::Iter<'_, V> {
        self.items.iter()
    }

    /// The items in order as a slice.
    pub fn as_slice(&self) -> &[V] {
        &self.items
    }

    /// Iterates mutably over the items in order.
    pub fn iter_mut(&mut self) -> slice::IterMut<'_, V> {
        self.items.iter_mut()
    }

    /// Removes all items and keeps the allocated memory.
    pub fn clear(&mut self) {
        self.items.clear();
    }
}

impl<K: IndexNumber, V> IndexVec<K, V> {
    /// Appends an item and returns its index.
    pub fn push(&mut self, item: V) -> K {
        self.items.push(item);
        K::from(self.items.len() - 1)
    }

    /// All indices in order.
    pub fn keys(&self) -> impl DoubleEndedIterator<Item = K> + ExactSizeIterator + use<K, V> {
        (0..self.items.len()).map(K::from)
    }

    /// The items in order with their indices.
    pub fn enumerated(&self) -> impl DoubleEndedIterator<Item = (K, &V)> {
        self.items
            .iter()
            .enumerate()
            .map(|(number, item)| (K::from(number), item))
    }

    /// Whether an index is within the list.
    pub fn contains_key(&self, key: K) -> bool {
        key.into() < self.items.len()
    }
}

impl<K, V: Clone> IndexVec<K, V> {
    /// Creates a list of equal items.
    pub fn filled(item: V, len: usize) -> Self {
        vec![item; len].into()
    }

    /// Sets all items to one value.
    pub fn fill(&mut self, item: V) {
        self.items.fill(item);
    }
}

impl<K, V: Clone> Clone for IndexVec<K, V> {
    fn clone(&self) -> Self {
        self.items.clone().into()
    }

    fn clone_from(&mut self, other: &Self) {
        self.items.clone_from(&other.items);
    }
}

impl<K, V> Default for IndexVec<K, V> {
    fn default() -> Self {
        Self::new()
    }
}

impl<K, V> From<Vec<V>> for IndexVec<K, V> {
    fn from(items: Vec<V>) -> Self {
        Self {
            items,
            key: PhantomData,
        }
    }
}

#[expect(
    clippy::indexing_slicing,
    reason = "a number of another list is a mistake in the program"
)]
impl<K: IndexNumber, V> Index<K> for IndexVec<K, V> {
    type Output = V;

    fn index(&self, key: K) -> &V {
        &self.items[key.into()]
    }
}

#[expect(
    clippy::indexing_slicing,
    reason = "a number of another list is a mistake in the program"
)]
impl<K: IndexNumber, V> IndexMut<K> for IndexVec<K, V> {
    fn index_mut(&mut self, key: K) -> &mut V {
        &mut self.items[key.into()]
    }
}

impl<K, V> FromIterator<V> for IndexVec<K, V> {
    fn from_iter<I: IntoIterator<Item = V>>(items: I) -> Self {
        Vec::from_iter(items).into()
    }
}

impl<K, V> Extend<V> for IndexVec<K, V> {
    fn extend<I: IntoIterator<Item = V>>(&mut self, items: I) {
        self.items.extend(items);
    }
}

impl<K, V> IntoIterator for IndexVec<K, V> {
    type Item = V;
    type IntoIter = vec::IntoIter<V>;

    fn into_iter(self) -> Self::IntoIter {
        self.items.into_iter()
    }
}

impl<'v, K, V> IntoIterator for &'v IndexVec<K, V> {
    type Item = &'v V;
    type IntoIter = slice::Iter<'v, V>;

    fn into_iter(self) -> Self::IntoIter {
        self.items.iter()
    }
}

impl<'v, K, V> IntoIterator for &'v mut IndexVec<K, V> {
    type Item = &'v mut V;
    type IntoIter = slice::IterMut<'v, V>;

    fn into_iter(self) -> Self::IntoIter {
        self.items.iter_mut()
    }
}

#[cfg(test)]
mod tests {
    use super::IndexVec;

    index_type! {
        struct Id;
    }

    #[test]
    fn an_item_is_found_by_the_number_that_it_was_given() {
        let mut list: IndexVec<Id, &str> = IndexVec::new();
        let (one, two) = (list.push("one"), list.push("two"));
        list[two] = "second";
        assert_eq!((list[one], list[two]), ("one", "second"));
        assert!(list.enumerated().eq([(one, &"one"), (two, &"second")]));
        assert!(list.keys().eq([one, two]));
    }

    #[test]
    #[should_panic(expected = "out of bounds")]
    fn a_number_of_another_list_panics() {
        let list: IndexVec<Id, f64> = IndexVec::filled(0.0, 2);
        assert!(!list.contains_key(Id(2)));
        let _ = list[Id(2)];
    }
}
