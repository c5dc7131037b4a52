//! The names that a file declares, in as little room as they can have: one of these is kept of every file.

use drysheath_office::Office;
use drysheath_text::TextRange;

use crate::outline::Sort;

/// The things and parts of a file: their names, sorts and places.
#[derive(Clone, Debug, Default)]
pub(crate) struct Roll {
    /// All names, one after the other.
    names: Box<str>,
    entries: Box<[Entry]>,
}

#[derive(Clone, Copy, Debug)]
struct Entry {
    start: u32,
    length: u16,
    sort: Sort,
}

/// A name that a file declares.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Enrolled<'r> {
    pub name: &'r str,
    pub sort: Sort,
    pub range: TextRange,
}

impl Roll {
    pub fn of(office: &Office) -> Self {
        let things = office
            .things
            .iter()
            .filter_map(|thing| Some((thing.name, Sort::Thing(thing.kind?.id))));
        let parts = office
            .parts
            .iter()
            .map(|part| (part.place.range, Sort::Part(part.kind.id)));
        let mut names = String::new();
        let mut entries = Vec::new();
        for (range, sort) in parts.chain(things) {
            // Nobody looks for a name that fills pages.
            let Ok(length) = u16::try_from(range.len()) else {
                continue;
            };
            let name = range.of(&office.text);
            if !name.is_empty() {
                names.push_str(name);
                entries.push(Entry {
                    start: range.start,
                    length,
                    sort,
                });
            }
        }
        Self {
            names: names.into(),
            entries: entries.into(),
        }
    }

    pub fn iter(&self) -> impl Iterator<Item = Enrolled<'_>> {
        let mut at = 0;
        self.entries.iter().map(move |entry| {
            let start = at;
            at += usize::from(entry.length);
            Enrolled {
                name: self.names.get(start..at).unwrap_or_default(),
                sort: entry.sort,
                range: TextRange::new(entry.start, entry.start + u32::from(entry.length)),
            }
        })
    }
}
