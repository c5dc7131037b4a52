//! The form in which the results of a repository are stored: a head that says which program wrote them and whether they are whole,
//! then each file by its name, in the order of the names.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::atomic::{AtomicBool, Ordering};

use drysheath_workspace::Digest;

/// The first bytes of a pack.
const MAGIC: &[u8] = b"drysheath results\n";

/// The entries of a repository.
#[derive(Default)]
pub(super) struct Pack {
    bytes: Vec<u8>,
    entries: Vec<Entry>,
}

struct Entry {
    name: Range<usize>,
    value: Range<usize>,
    is_used: AtomicBool,
}

impl Pack {
    /// Reads a pack that the program `build` has written. None if another program has, or if a byte is not what was written.
    pub fn read(bytes: Vec<u8>, build: &Digest) -> Option<Self> {
        let rest = bytes.strip_prefix(MAGIC)?.strip_prefix(build.as_bytes().as_slice())?;
        let (digest, mut rest) = rest.split_first_chunk::<32>()?;
        if Digest::from(*digest) != Digest::of(rest) {
            return None;
        }
        let mut entries: Vec<Entry> = Vec::new();
        while !rest.is_empty() {
            let mut next = || -> Option<Range<usize>> {
                let (piece, after) = postcard::take_from_bytes::<&[u8]>(rest).ok()?;
                rest = after;
                let end = bytes.len() - after.len();
                Some(end - piece.len()..end)
            };
            entries.push(Entry {
                name: next()?,
                value: next()?,
                is_used: AtomicBool::new(false),
            });
        }
        Some(Self { bytes, entries })
    }

    fn of(&self, range: &Range<usize>) -> &[u8] {
        self.bytes.get(range.clone()).unwrap_or_default()
    }

    /// The entry of a file.
    pub fn get(&self, name: &str) -> Option<&[u8]> {
        let at = self
            .entries
            .binary_search_by(|entry| self.of(&entry.name).cmp(name.as_bytes()))
            .ok()?;
        let entry = self.entries.get(at)?;
        Some(self.of(&entry.value))
    }

    /// Notes that the entry of a file still holds.
    pub fn note_use(&self, name: &str) {
        let at = self
            .entries
            .binary_search_by(|entry| self.of(&entry.name).cmp(name.as_bytes()));
        if let Some(entry) = at.ok().and_then(|at| self.entries.get(at)) {
            entry.is_used.store(true, Ordering::Relaxed);
        }
    }

    /// Whether all of it was used.
    pub fn is_all_used(&self) -> bool {
        self.entries.iter().all(|entry| entry.is_used.load(Ordering::Relaxed))
    }

    /// The pieces of a pack with what is `new`, and with the entries here of other files: of all, or of those that were used.
    pub fn with(&self, new: &BTreeMap<Box<str>, Vec<u8>>, build: &Digest, only_used: bool) -> [Vec<u8>; 2] {
        let old = self.entries.iter();
        let old = old.filter(|entry| !only_used || entry.is_used.load(Ordering::Relaxed));
        let old = old.map(|entry| (self.of(&entry.name), self.of(&entry.value)));
        let mut all: BTreeMap<&[u8], &[u8]> = old.collect();
        all.extend(new.iter().map(|(name, value)| (name.as_bytes(), value.as_slice())));
        let mut body = Vec::new();
        for piece in all.iter().flat_map(|(name, value)| [*name, *value]) {
            // Writing to memory does not fail.
            body = postcard::to_extend(piece, body).unwrap_or_default();
        }
        let head = [MAGIC, build.as_bytes(), Digest::of(&body).as_bytes()].concat();
        [head, body]
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test fails by a panic")]

    use super::*;

    fn written() -> (Digest, Vec<u8>) {
        let build = Digest::of(b"a program");
        let new = BTreeMap::from([("b".into(), vec![1, 2, 3]), ("a".into(), Vec::new())]);
        (build, Pack::default().with(&new, &build, false).concat())
    }

    #[test]
    fn what_was_written_is_read() {
        let (build, bytes) = written();
        let pack = Pack::read(bytes, &build).unwrap();
        assert_eq!(pack.get("a"), Some(&[][..]));
        assert_eq!(pack.get("b"), Some(&[1, 2, 3][..]));
        assert_eq!(pack.get("c"), None);
        pack.note_use("b");
        assert!(!pack.is_all_used());
        let new = BTreeMap::from([("c".into(), vec![4])]);
        for (only_used, names) in [(false, vec!["a", "b", "c"]), (true, vec!["b", "c"])] {
            let next = Pack::read(pack.with(&new, &build, only_used).concat(), &build).unwrap();
            let there: Vec<&str> = ["a", "b", "c"]
                .into_iter()
                .filter(|name| next.get(name).is_some())
                .collect();
            assert_eq!(there, names);
        }
    }

    #[test]
    fn a_pack_with_any_bit_changed_or_cut_off_anywhere_is_none() {
        let (build, bytes) = written();
        for at in 0..bytes.len() {
            assert!(Pack::read(bytes[..at].to_vec(), &build).is_none(), "cut at {at}");
            for bit in 0..8 {
                let mut damaged = bytes.clone();
                damaged[at] ^= 1 << bit;
                assert!(Pack::read(damaged, &build).is_none(), "bit {bit} of byte {at}");
            }
        }
        assert!(Pack::read([bytes.as_slice(), b"x"].concat(), &build).is_none());
        assert!(Pack::read(bytes, &Digest::of(b"another program")).is_none());
    }
}
