//! What is described in a file of its own and belongs to offices: an assembly that they place, whose things they know by names such as
//! `b3/r`, and a route between two of them, whose things have the same name in both.

use std::sync::Arc;

use drysheath_syntax::Tree;
use drysheath_text::{FileId, Place, TextRange};

use crate::lower::lower_alone;
use crate::model::{Office, Thing, ThingId};
use crate::parts::{Part, PartsSource};
use crate::value::Value;

/// Between the name of a placed assembly and that of a thing in it.
pub const WITHIN: char = '/';

/// A file that draws an assembly, describes a route, or describes an office at the end of one.
#[derive(Debug)]
pub struct Drawing {
    /// The file.
    pub file: FileId,
    /// Its path from the repository's root, without extension.
    pub path: Box<str>,
    /// Where the assembly, route or office is named in it.
    pub head: TextRange,
    /// Its text.
    pub text: Arc<str>,
    /// Its text, read.
    pub tree: Tree,
}

impl Drawing {
    /// What it says, with the parts that `library` has.
    pub(crate) fn lower(&self, library: &dyn PartsSource) -> Office {
        lower_alone(self.file, &self.path, Arc::clone(&self.text), &self.tree, library)
    }
}

/// A drawing that is placed in an office. The office's text is followed by that of the drawing, with the names of things as the
/// office knows them: so everything in the office lies in one text.
#[derive(Clone, Debug)]
pub struct Placed {
    /// What offices take it as: the part that its file declares with its head.
    pub part: Arc<Part>,
    /// The assembly; none for a route.
    pub thing: Option<ThingId>,
    /// Where the office names it in its own text: the name of the assembly, or the path of the route.
    pub name: TextRange,
    /// The file that draws it.
    pub file: FileId,
    /// The path of that file from the repository's root, without extension.
    pub path: Box<str>,
    /// The paths that the drawing uses in turn.
    pub(crate) uses: Vec<Box<str>>,
    /// The things that it brings into the office.
    pub things: std::ops::Range<ThingId>,
    /// What comes before the names of its things.
    prefix: Box<str>,
    /// Where the drawing's text begins in the office's.
    start: u32,
    /// Where names begin in the drawing, in order.
    names: Arc<[u32]>,
}

impl Placed {
    /// `prefix` comes before the names of things, which begin at `names` in the drawing.
    pub(crate) fn new(
        name: TextRange,
        prefix: String,
        part: Arc<Part>,
        drawing: &Drawing,
        uses: Vec<Box<str>>,
        names: Arc<[u32]>,
    ) -> Self {
        Self {
            part,
            thing: None,
            name,
            file: drawing.file,
            path: drawing.path.clone(),
            uses,
            things: ThingId::from(0)..ThingId::from(0),
            prefix: prefix.into(),
            start: 0,
            names,
        }
    }

    /// Adds the drawing's text to that of an office.
    pub(crate) fn write(&mut self, drawn: &str, office: &mut String) {
        office.push('\n');
        self.start = office.len() as u32;
        let mut at = 0;
        for name in self.names.iter().map(|name| *name as usize) {
            office.push_str(drawn.get(at..name).unwrap_or_default());
            office.push_str(&self.prefix);
            at = name;
        }
        office.push_str(drawn.get(at..).unwrap_or_default());
    }

    /// The name in the office of what the drawing calls `name`.
    pub(crate) fn name_of(&self, name: &str) -> Box<str> {
        format!("{}{name}", self.prefix).into()
    }

    /// Where a range of the drawing lies in the office's text.
    pub(crate) fn placed(&self, drawn: TextRange) -> TextRange {
        let placed = |at: u32| {
            let before = self.names.partition_point(|name| *name < at) as u32;
            self.start + at + before * self.prefix.len() as u32
        };
        TextRange::new(placed(drawn.start), placed(drawn.end))
    }

    /// Whether it is a route between this office and another.
    pub fn is_route(&self) -> bool {
        self.thing.is_none()
    }

    /// Where a range of the office's text lies in the drawing.
    fn drawn(&self, placed: TextRange) -> TextRange {
        let prefix = self.prefix.len() as u32;
        let drawn = |at: u32| {
            let after = at.saturating_sub(self.start);
            let begins = |(before, name): (u32, &u32)| name + before * prefix;
            let before = (0..).zip(self.names.iter()).take_while(|name| begins(*name) < after);
            let before = before.count() as u32;
            let last = before.checked_sub(1).and_then(|last| self.names.get(last as usize));
            (after.saturating_sub(before * prefix)).max(last.copied().unwrap_or_default())
        };
        TextRange::new(drawn(placed.start), drawn(placed.end))
    }
}

/// A thing of a route, whatever office it is looked at from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct SharedThing {
    /// The file of the route.
    file: FileId,
    /// Its number among the things of the route.
    number: usize,
}

impl Office {
    /// The things of routes, as every office knows them, and as this one does.
    pub fn shared_things(&self) -> impl Iterator<Item = (SharedThing, ThingId)> {
        let routes = self.placed.iter().filter(|placed| placed.is_route());
        routes.flat_map(|placed| {
            let first = usize::from(placed.things.start);
            let things = first..usize::from(placed.things.end);
            things.map(move |id| {
                let shared = SharedThing {
                    file: placed.file,
                    number: id - first,
                };
                (shared, ThingId::from(id))
            })
        })
    }

    /// A thing as every office knows it, if it is one of a route.
    pub fn shared(&self, thing: ThingId) -> Option<SharedThing> {
        let placed = self.route_with(thing)?;
        Some(SharedThing {
            file: placed.file,
            number: usize::from(thing) - usize::from(placed.things.start),
        })
    }

    /// A thing of a route in the other offices that have it.
    pub fn elsewhere(&self, thing: ThingId) -> impl Iterator<Item = (&Self, ThingId)> {
        let shared = self.shared(thing);
        let neighbours = self.neighbours.iter().filter(move |_| shared.is_some());
        neighbours.filter_map(move |other| {
            let mut things = other.shared_things();
            let (_, id) = things.find(|(key, _)| Some(*key) == shared)?;
            Some((&**other, id))
        })
    }

    /// The files that this one names: those that it uses, and the offices at the ends of a route.
    pub fn files_named(&self) -> impl Iterator<Item = &str> {
        let route = self.drawn_as().into_iter().flat_map(|part| &part.fields);
        let ends = route.filter_map(|field| match &field.value {
            Value::Path(path) => Some(&**path),
            _ => None,
        });
        self.uses.iter().map(|used| &*used.value).chain(ends)
    }

    /// The text of the office's own file, without what is drawn elsewhere.
    pub fn own_text(&self) -> &str {
        self.text.get(..self.own_length as usize).unwrap_or(&self.text)
    }

    /// The route that a thing belongs to, if it is one of a route between two offices.
    pub fn route_with(&self, thing: ThingId) -> Option<&Placed> {
        self.placed_with(thing).filter(|placed| placed.thing.is_none())
    }

    /// Whether something lies in the office's own file, and is not drawn elsewhere.
    pub fn is_own(&self, range: TextRange) -> bool {
        range.end <= self.own_length
    }

    /// The things that the office's own file declares, with their numbers.
    pub fn own_things(&self) -> impl Iterator<Item = (ThingId, &Thing)> {
        self.things().filter(|(_, thing)| self.is_own(thing.range))
    }

    /// The placed drawing that something belongs to, if it is drawn elsewhere.
    pub fn placed_at(&self, range: TextRange) -> Option<&Placed> {
        if self.is_own(range) {
            return None;
        }
        let after = self.placed.partition_point(|placed| placed.start <= range.start);
        after.checked_sub(1).and_then(|at| self.placed.get(at))
    }

    /// What offices take by the name of the assembly that this file draws, if it draws one.
    pub fn drawn_as(&self) -> Option<&Part> {
        let head = self.drawing?;
        let mut parts = self.parts.iter().map(AsRef::as_ref);
        parts.find(|part| head.contains(part.place.range))
    }

    /// The thing that an assembly of the office brings in under `name` in its drawing.
    pub fn within(&self, assembly: ThingId, name: &str) -> Option<ThingId> {
        self.named(&self.placed_by(assembly)?.name_of(name))
    }

    /// The drawing that an assembly of the office places.
    pub fn placed_by(&self, assembly: ThingId) -> Option<&Placed> {
        self.placed.iter().find(|placed| placed.thing == Some(assembly))
    }

    /// The placed drawing that a thing belongs to.
    pub fn placed_with(&self, thing: ThingId) -> Option<&Placed> {
        self.placed.iter().find(|placed| placed.things.contains(&thing))
    }

    /// Where something is in the office's own file: what is drawn elsewhere is at the name of its assembly.
    pub fn own_range(&self, range: TextRange) -> TextRange {
        self.placed_at(range).map_or(range, |placed| placed.name)
    }

    /// Where something in the office's text is written: in its own file, or in that of a drawing.
    pub fn written(&self, place: Place) -> Place {
        let placed = self.placed_at(place.range).filter(|_| place.file == self.file);
        placed.map_or(place, |placed| Place {
            file: placed.file,
            range: placed.drawn(place.range),
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

    use super::*;
    use crate::kinds::Kind;

    #[test]
    fn ranges_go_forth_and_back() {
        let drawn = "regulator r\nair r -> f";
        let name = TextRange::new(9, 11);
        let drawing = Drawing {
            file: FileId(1),
            path: "parts/bracket".into(),
            head: TextRange::default(),
            text: drawn.into(),
            tree: Tree::default(),
        };
        let part = Part {
            kind: Kind::find("assembly").unwrap(),
            name: "bracket".into(),
            of: None,
            place: Place::default(),
            fields: Vec::new(),
            damaged: false,
        };
        let names = [10, 16, 21].into();
        let mut placed = Placed::new(name, "b3/".to_owned(), part.into(), &drawing, Vec::new(), names);
        let mut text = "assembly b3".to_owned();
        placed.write(drawn, &mut text);
        assert_eq!(text, "assembly b3\nregulator b3/r\nair b3/r -> b3/f");
        for (from, to, written) in [
            (0, 11, "regulator b3/r"),
            (10, 11, "b3/r"),
            (12, 22, "air b3/r -> b3/f"),
            (18, 20, "->"),
            (21, 22, "b3/f"),
        ] {
            let range = TextRange::new(from, to);
            let there = placed.placed(range);
            assert_eq!(there.of(&text), written);
            assert_eq!(placed.drawn(there), range, "{written}");
        }
        // Within the name of the assembly it is the name of the thing.
        let within = TextRange::new(placed.placed(TextRange::new(10, 11)).start + 1, text.len() as u32);
        assert_eq!(placed.drawn(within).start, 10);
    }
}
