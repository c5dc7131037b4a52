use std::sync::Arc;

use drysheath_office::kinds::KindId;
use drysheath_office::{Office, Part};
use drysheath_syntax::{StatementKind, Tree};
use drysheath_text::{Place, TextRange};

/// The things and parts that a file declares, with names, kinds and places, and the parts that its things use. Kept for
/// every file, so all names are in one string.
#[derive(Clone, Debug, Default)]
pub struct Symbols {
    names: Box<str>,
    entries: Box<[SymbolEntry]>,
    /// `None` if something that the file states about parts is not understood.
    takes: Option<Box<[PartUse]>>,
}

/// A part, and where the things of a file name it.
#[derive(Clone, Debug)]
struct PartUse {
    part: Arc<Part>,
    starts: Box<[u32]>,
}

#[derive(Clone, Copy, Debug)]
struct SymbolEntry {
    start: u32,
    length: u16,
    kind: KindId,
    is_part: bool,
}

/// A name that a file declares.
#[derive(Clone, Copy, Debug)]
pub struct Symbol<'s> {
    /// The name as written.
    pub name: &'s str,
    /// The kind of the thing, or of the part's things.
    pub kind: KindId,
    /// Whether it is a part rather than a thing.
    pub is_part: bool,
    /// Place of the name.
    pub range: TextRange,
}

impl Symbols {
    /// The symbols of a file: parts, then things, each in the order of the text.
    pub fn of(office: &Office, tree: &Tree) -> Self {
        let things = office.own_things();
        let things = things.filter_map(|(_, thing)| Some((thing.name, thing.kind?.id, false)));
        let parts = office.parts.iter().map(|part| (part.place.range, part.kind.id, true));
        let mut names = String::new();
        let mut entries = Vec::new();
        for (range, kind, is_part) in parts.chain(things) {
            // A very long name is not searched.
            let Ok(length) = u16::try_from(range.len()) else {
                continue;
            };
            let name = range.of(&office.text);
            if !name.is_empty() {
                names.push_str(name);
                entries.push(SymbolEntry {
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
            takes: takes(office, tree).map(Vec::into_boxed_slice),
        }
    }

    /// The places where the file names a part, given its name and the place of its declaration. `None` if that is not
    /// known without reading the file again, since something in it is not understood.
    pub fn places_of(&self, name: &str, part: Place) -> Option<Vec<TextRange>> {
        let all = self.takes.as_deref()?;
        let length = name.len() as u32;
        let taken = all.iter().find(|taken| taken.part.place == part);
        let starts = taken.into_iter().flat_map(|taken| &*taken.starts);
        Some(starts.map(|start| TextRange::new(*start, start + length)).collect())
    }

    /// The names in order.
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

/// The parts that the things of a file use. `None` unless all of the file is understood, so that a part's name cannot
/// occur elsewhere in it.
fn takes(office: &Office, tree: &Tree) -> Option<Vec<PartUse>> {
    if !office.problems.is_empty() || !office.parts.is_empty() || office.drawing.is_some() {
        return None;
    }
    let mut takes: Vec<(Arc<Part>, Vec<u32>)> = Vec::new();
    for statement in &tree.statements {
        let StatementKind::Thing(declared) = &statement.kind else {
            continue;
        };
        let Some(word) = declared.part else { continue };
        let thing = office.thing(office.declared_at(statement.range)?);
        let part = thing.part.as_ref().filter(|_| !statement.damaged)?;
        // The file before the name is not part of the name.
        let start = tree.range(word).end.checked_sub(part.name.len() as u32)?;
        match takes.iter_mut().find(|(known, _)| known.place == part.place) {
            Some((_, starts)) => starts.push(start),
            None => takes.push((Arc::clone(part), vec![start])),
        }
    }
    let boxed = |(part, starts): (Arc<Part>, Vec<u32>)| PartUse {
        part,
        starts: starts.into(),
    };
    Some(takes.into_iter().map(boxed).collect())
}
