use drysheath_office::Office;
use drysheath_office::kinds::KindId;
use drysheath_text::TextRange;

/// The things and parts that a file declares: their names, kinds and places. One of these is kept of every file, so all names
/// lie in one string.
#[derive(Clone, Debug, Default)]
pub struct Symbols {
    names: Box<str>,
    entries: Box<[Entry]>,
}

#[derive(Clone, Copy, Debug)]
struct Entry {
    start: u32,
    length: u16,
    kind: KindId,
    is_part: bool,
}

/// A name that a file declares.
#[derive(Clone, Copy, Debug)]
pub struct Symbol<'s> {
    /// The name as it is written.
    pub name: &'s str,
    /// The kind of the thing, or of the things that the part describes.
    pub kind: KindId,
    /// Whether a part is declared and not a thing.
    pub is_part: bool,
    /// The place of the name.
    pub range: TextRange,
}

impl Symbols {
    /// The symbols of a file: parts, then things, each in the order of the text.
    pub fn of(office: &Office) -> Self {
        let things = office.own_things();
        let things = things.filter_map(|(_, thing)| Some((thing.name, thing.kind?.id, false)));
        let parts = office.parts.iter().map(|part| (part.place.range, part.kind.id, true));
        let mut names = String::new();
        let mut entries = Vec::new();
        for (range, kind, is_part) in parts.chain(things) {
            // A name that fills pages is not searched.
            let Ok(length) = u16::try_from(range.len()) else {
                continue;
            };
            let name = range.of(&office.text);
            if !name.is_empty() {
                names.push_str(name);
                entries.push(Entry {
                    start: range.start,
                    length,
                    kind,
                    is_part,
                });
            }
        }
        Self {
            names: names.into(),
            entries: entries.into(),
        }
    }

    /// The names in their order.
    pub fn iter(&self) -> impl Iterator<Item = Symbol<'_>> {
        let mut at = 0;
        self.entries.iter().map(move |entry| {
            let start = at;
            at += usize::from(entry.length);
            Symbol {
                name: self.names.get(start..at).unwrap_or_default(),
                kind: entry.kind,
                is_part: entry.is_part,
                range: TextRange::new(entry.start, entry.start + u32::from(entry.length)),
            }
        })
    }
}
