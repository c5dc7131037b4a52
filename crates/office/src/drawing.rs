//! Descriptions in files of their own that become part of offices: assemblies, whose things have names such as `b3/r`
//! in the office that places them, and routes between two offices, whose things have the same name in both.

use std::sync::Arc;

use drysheath_syntax::Tree;
use drysheath_text::{FileId, Place, TextRange};

use crate::embedding::Embedding;
use crate::lower::lower_alone;
use crate::model::{Office, Thing, ThingId};
use crate::parts::{Part, PartsSource};
use crate::value::Value;

/// Separates the name of a placed assembly from that of a thing in it.
pub const NAME_SEPARATOR: char = '/';

/// A file that draws an assembly, or describes a route or an office at the end of a route.
#[derive(Debug)]
pub struct Drawing {
    /// File that describes the drawing.
    pub file: FileId,
    /// Path from the repository root, without extension.
    pub path: Box<str>,
    /// The name of the assembly, route or office in the file.
    pub head: TextRange,
    /// Text of the file.
    pub text: Arc<str>,
    /// Syntax tree of the file.
    pub tree: Tree,
}

impl Drawing {
    /// Lowers the file, with parts from `library`.
    pub(crate) fn lower(&self, library: &dyn PartsSource) -> Office {
        lower_alone(self.file, &self.path, Arc::clone(&self.text), &self.tree, library)
    }
}

/// A drawing placed in an office. Its text is appended to the office's, with names of things as in the office, so that
/// everything in the office lies in one text.
#[derive(Clone, Debug)]
pub struct PlacedDrawing {
    /// The part that its head declares and that offices place or use.
    pub part: Arc<Part>,
    /// The assembly. `None` for a route.
    pub thing: Option<ThingId>,
    /// Where the office names it in its own text: the name of the assembly, or the path of the route.
    pub name: TextRange,
    /// The file of the drawing.
    pub file: FileId,
    /// The path of that file from the repository's root, without extension.
    pub path: Box<str>,
    /// The paths that the drawing itself uses.
    pub(crate) uses: Vec<Box<str>>,
    /// The things that it adds to the office.
    pub things: std::ops::Range<ThingId>,
    /// For a route, whether its cables end in this office; otherwise they begin here.
    pub(crate) ends_here: bool,
    /// The position of the drawing's text in the office's text.
    pub(crate) embedding: Embedding,
}

impl PlacedDrawing {
    /// Prepares a placement. `prefix` goes before names of things, which start at `names` in the drawing.
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
            embedding: Embedding::new(prefix, names),
        }
    }

    /// The id in the office of a thing of the drawing.
    pub(crate) fn thing(&self, drawn: ThingId) -> ThingId {
        ThingId::from(usize::from(self.things.start) + usize::from(drawn))
    }

    /// Whether it is a route between this office and another.
    pub fn is_route(&self) -> bool {
        self.thing.is_none()
    }
}

/// Identity of a thing of a route, the same in all offices.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct SharedThing {
    /// File of the route.
    file: FileId,
    /// Index among the things of the route.
    number: usize,
}

impl Office {
    /// The things of routes, with their shared identity and their ids in this office.
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

    /// The shared identity of a thing. `None` if it does not belong to a route.
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

    /// The paths that this file names: files that it uses, and offices at the ends of a route.
    pub fn files_named(&self) -> impl Iterator<Item = &str> {
        let route = self.drawn_as().into_iter().flat_map(|part| &part.fields);
        let ends = route.filter_map(|field| match &field.value {
            Value::Path(path) => Some(&**path),
            _ => None,
        });
        self.uses.iter().map(|used| &*used.value).chain(ends)
    }

    /// The text of the office's own file, without drawings.
    pub fn own_text(&self) -> &str {
        self.text.get(..self.own_length as usize).unwrap_or(&self.text)
    }

    /// The thing at which results on a route are reported: its first thing, or else the office itself.
    pub fn thing_of(&self, route: &PlacedDrawing) -> Option<ThingId> {
        let first = Some(route.things.start).filter(|_| !route.things.is_empty());
        first.or(self.itself)
    }

    /// The route that a thing belongs to.
    pub fn route_with(&self, thing: ThingId) -> Option<&PlacedDrawing> {
        self.placed_with(thing).filter(|placed| placed.thing.is_none())
    }

    /// Whether a range lies in the office's own file rather than in a drawing.
    pub fn is_own(&self, range: TextRange) -> bool {
        range.end <= self.own_length
    }

    /// The things that the office's own file declares.
    pub fn own_things(&self) -> impl Iterator<Item = (ThingId, &Thing)> {
        self.things().filter(|(_, thing)| self.is_own(thing.range))
    }

    /// The placed drawing that a range belongs to.
    pub fn placed_at(&self, range: TextRange) -> Option<&PlacedDrawing> {
        let is_brought = self
            .imported
            .first()
            .is_some_and(|first| first.embedding.start() <= range.start);
        if self.is_own(range) || is_brought {
            return None;
        }
        let after = self
            .placed
            .partition_point(|placed| placed.embedding.start() <= range.start);
        after.checked_sub(1).and_then(|at| self.placed.get(at))
    }

    /// The part that this file's assembly or route is placed as. `None` if it draws none.
    pub fn drawn_as(&self) -> Option<&Part> {
        let head = self.drawing?;
        let mut parts = self.parts.iter().map(AsRef::as_ref);
        parts.find(|part| head.contains(part.place.range))
    }

    /// The thing with the name `name` in the drawing of an assembly.
    pub fn within(&self, assembly: ThingId, name: &str) -> Option<ThingId> {
        self.named(&self.placed_by(assembly)?.embedding.name_of(name))
    }

    /// The drawing that an assembly places.
    pub fn placed_by(&self, assembly: ThingId) -> Option<&PlacedDrawing> {
        self.placed.iter().find(|placed| placed.thing == Some(assembly))
    }

    /// The placed drawing that a thing belongs to.
    pub fn placed_with(&self, thing: ThingId) -> Option<&PlacedDrawing> {
        self.placed.iter().find(|placed| placed.things.contains(&thing))
    }

    /// A range in the office's own file: for a drawn thing, the name of its assembly.
    pub fn own_range(&self, range: TextRange) -> TextRange {
        self.placed_at(range).map_or(range, |placed| placed.name)
    }

    /// Converts a place in the office's text to the file that contains it: its own, a drawing, or another office that
    /// its wires lead to.
    pub fn written(&self, place: Place) -> Place {
        if place.file != self.file {
            // A drawing in another office's text.
            let mut neighbours = self.neighbours.iter();
            let other = neighbours.find(|other| other.file == place.file);
            return other.map_or(place, |other| other.written(place));
        }
        let mut imported = self.imported.iter().zip(&self.neighbours).rev();
        if let Some((imported, other)) = imported.find(|(imported, _)| imported.embedding.start() <= place.range.start)
        {
            return other.written(other.place(imported.embedding.written(place.range)));
        }
        let placed = self.placed_at(place.range);
        placed.map_or(place, |placed| Place {
            file: placed.file,
            range: placed.embedding.written(place.range),
        })
    }
}
