//! Values indexed by an enum.

use std::marker::PhantomData;
use std::ops::{Index, IndexMut};

/// A value for each variant of an enum `K` that has `N` of them.
#[derive(Clone, Debug)]
pub(super) struct ByKey<K, V, const N: usize> {
    values: [V; N],
    key: PhantomData<fn(K)>,
}

impl<K, V: Copy, const N: usize> ByKey<K, V, N> {
    /// Sets all values to the same one.
    pub fn filled(value: V) -> Self {
        Self {
            values: [value; N],
            key: PhantomData,
        }
    }
}

impl<K: Into<usize>, V, const N: usize> Index<K> for ByKey<K, V, N> {
    type Output = V;

    #[expect(clippy::indexing_slicing, reason = "there is a value for each variant")]
    fn index(&self, key: K) -> &V {
        &self.values[key.into()]
    }
}

impl<K: Into<usize>, V, const N: usize> IndexMut<K> for ByKey<K, V, N> {
    #[expect(clippy::indexing_slicing, reason = "there is a value for each variant")]
    fn index_mut(&mut self, key: K) -> &mut V {
        &mut self.values[key.into()]
    }
}
