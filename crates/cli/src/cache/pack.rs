//! Storage format of the results of a repository: a header with the program that wrote them and a checksum, then each
//! file by name, in name order.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::atomic::{AtomicBool, Ordering};

use drysheath_workspace::Digest;

/// First bytes of a pack.
const MAGIC: &[u8] = b"drysheath results\n";
/// Maximum number of bytes that the lengths of a name and a value take.
const MOST_OF_LENGTHS: usize = 20;

/// Entries of a repository.
#[derive(Default)]
pub(super) struct Pack {
    bytes: Vec<u8>,
    entries: Vec<Entry>,
}

/// Position of a file's entry in a pack.
pub(super) struct Entry {
    name: Range<usize>,
    value: Range<usize>,
    is_used: AtomicBool,
}

impl Entry {
    /// Marks the entry as still valid.
    pub fn note_use(&self) {
        self.is_used.store(true, Ordering::Relaxed);
    }

    fn is_used(&self) -> bool {
        self.is_used.load(Ordering::Relaxed)
    }
}

impl Pack {
    /// Parses a pack written by the program `build`. `None` if another program wrote it or any byte was changed.
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

    /// Entry of a file.
    pub fn get(&self, name: &str) -> Option<&Entry> {
        let at = self
            .entries
            .binary_search_by(|entry| self.of(&entry.name).cmp(name.as_bytes()))
            .ok()?;
        self.entries.get(at)
    }

    /// Value of an entry.
    pub fn value(&self, entry: &Entry) -> &[u8] {
        self.of(&entry.value)
    }

    /// Whether all entries were used.
    pub fn is_all_used(&self) -> bool {
        self.entries.iter().all(Entry::is_used)
    }

    /// Whether these are the pieces that the pack was read from.
    pub fn is(&self, [head, body]: &[Vec<u8>; 2]) -> bool {
        let rest = self.bytes.strip_prefix(head.as_slice());
        rest.is_some_and(|rest| rest == body.as_slice())
    }

    /// Pieces of a pack with the `new` entries and the existing entries of other files: all of them, or only those
    /// used. If the total exceeds `limit` bytes, unused entries are dropped, and what still does not fit is cut off in
    /// name order.
    pub fn with(
        &self,
        new: &BTreeMap<Box<str>, Vec<u8>>,
        build: &Digest,
        only_used: bool,
        limit: usize,
    ) -> [Vec<u8>; 2] {
        let all = |only_used: bool| -> BTreeMap<&[u8], &[u8]> {
            let old = self.entries.iter().filter(|entry| !only_used || entry.is_used());
            let old = old.map(|entry| (self.of(&entry.name), self.of(&entry.value)));
            let new = new.iter().map(|(name, value)| (name.as_bytes(), value.as_slice()));
            // New entries replace old ones of the same name.
            old.chain(new).collect()
        };
        let size = |(name, value): (&&[u8], &&[u8])| name.len() + value.len() + MOST_OF_LENGTHS;
        let mut entries = all(only_used);
        let limit = limit.saturating_sub(MAGIC.len() + 2 * build.as_bytes().len());
        if !only_used && entries.iter().map(size).sum::<usize>() > limit {
            // Too many entries have accumulated over the runs.
            entries = all(true);
        }
        let mut body = Vec::with_capacity(entries.iter().map(size).sum::<usize>().min(limit));
        for entry in &entries {
            if body.len() + size(entry) > limit {
                break;
            }
            for piece in [*entry.0, *entry.1] {
                // Serializing to memory cannot fail.
                body = postcard::to_extend(piece, body).unwrap_or_default();
            }
        }
        let head = [MAGIC, build.as_bytes(), Digest::of(&body).as_bytes()].concat();
        [head, body]
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test fails by a panic")]

    use super::*;

    const NO_LIMIT: usize = usize::MAX;

    fn written() -> (Digest, Vec<u8>) {
        let build = Digest::of(b"a program");
        let new = BTreeMap::from([("b".into(), vec![1, 2, 3]), ("a".into(), Vec::new())]);
        (build, Pack::default().with(&new, &build, false, NO_LIMIT).concat())
    }

    fn names(pack: &Pack) -> String {
        let all = ["a", "b", "c", "d"].into_iter();
        all.filter(|name| pack.get(name).is_some()).collect()
    }

    #[test]
    fn what_was_written_is_read() {
        let (build, bytes) = written();
        let pack = Pack::read(bytes, &build).unwrap();
        let value = |name| pack.get(name).map(|entry| pack.value(entry));
        assert_eq!(value("a"), Some(&[][..]));
        assert_eq!(value("b"), Some(&[1, 2, 3][..]));
        assert_eq!(value("c"), None);
        pack.get("b").unwrap().note_use();
        assert!(!pack.is_all_used());
        assert!(pack.is(&pack.with(&BTreeMap::new(), &build, false, NO_LIMIT)));
        let new = BTreeMap::from([("c".into(), vec![4])]);
        for (only_used, there) in [(false, "abc"), (true, "bc")] {
            let next = pack.with(&new, &build, only_used, NO_LIMIT);
            assert!(!pack.is(&next));
            assert_eq!(names(&Pack::read(next.concat(), &build).unwrap()), there);
        }
    }

    #[test]
    fn a_pack_ends_at_its_limit_and_what_was_used_comes_first() {
        let (build, bytes) = written();
        let pack = Pack::read(bytes, &build).unwrap();
        pack.get("b").unwrap().note_use();
        let new = BTreeMap::from([("c".into(), vec![0; 1000]), ("d".into(), vec![0; 1000])]);
        for (limit, there) in [(4000, "abcd"), (2150, "bcd"), (2000, "bc"), (1000, "b"), (0, "")] {
            let next = pack.with(&new, &build, false, limit).concat();
            assert!(next.len() <= limit.max(MAGIC.len() + 64), "{limit}: {}", next.len());
            assert_eq!(names(&Pack::read(next, &build).unwrap()), there, "{limit}");
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
