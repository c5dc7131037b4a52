//! What is described in a file of its own and belongs to offices: an assembly that they place, whose things they know by names such as
//! `b3/r`, and a route between two of them, whose things have the same name in both.

use std::sync::Arc;

use drysheath_syntax::Tree;
use drysheath_text::{FileId, Place, TextRange};

use crate::inset::Inset;
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
    /// Of a route, whether its cables end in this office; they begin in the other one then.
    pub(crate) ends_here: bool,
    /// Where the drawing's text lies in the office's.
    pub(crate) inset: Inset,
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
            ends_here: false,
            inset: Inset::new(prefix, names),
        }
    }

    /// The number in the office of a thing of the drawing.
    pub(crate) fn thing(&self, drawn: ThingId) -> ThingId {
        ThingId::from(usize::from(self.things.start) + usize::from(drawn))
    }

    /// Whether it is a route between this office and another.
    pub fn is_route(&self) -> bool {
        self.thing.is_none()
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

    /// The thing that is named for a route as a whole: its first one or, where its file has none, the office itself.
    pub fn thing_of(&self, route: &Placed) -> Option<ThingId> {
        let first = Some(route.things.start).filter(|_| !route.things.is_empty());
        first.or(self.itself)
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
        let is_brought = self
            .brought
            .first()
            .is_some_and(|first| first.inset.start() <= range.start);
        if self.is_own(range) || is_brought {
            return None;
        }
        let after = self
            .placed
            .partition_point(|placed| placed.inset.start() <= range.start);
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
        self.named(&self.placed_by(assembly)?.inset.name_of(name))
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

    /// Where something in the office's text is written: in its own file, in that of a drawing, or in that of an office which its
    /// wires lead to.
    pub fn written(&self, place: Place) -> Place {
        if place.file != self.file {
            // A drawing in another office's text.
            let mut neighbours = self.neighbours.iter();
            let other = neighbours.find(|other| other.file == place.file);
            return other.map_or(place, |other| other.written(place));
        }
        let mut brought = self.brought.iter().zip(&self.neighbours).rev();
        if let Some((brought, other)) = brought.find(|(brought, _)| brought.inset.start() <= place.range.start) {
            return other.written(other.place(brought.inset.written(place.range)));
        }
        let placed = self.placed_at(place.range);
        placed.map_or(place, |placed| Place {
            file: placed.file,
            range: placed.inset.written(place.range),
        })
    }
}
