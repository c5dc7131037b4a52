//! An office merged with its neighbours, to follow wires and air into other offices.

use std::sync::{Arc, OnceLock};

use drysheath_syntax::Medium;
use rustc_hash::FxHashMap;

use super::{Networks, Terminal};
use crate::drawing::{PlacedDrawing, SharedThing};
use crate::embedding::{Embedding, names};
use crate::lower::other_end;
use crate::model::{End, Office, Run, RunId, StatedRange, Thing, ThingId};
use crate::value::{Field, Value};

/// An office merged with its neighbours, and its networks; just the office where there are none.
///
/// The office's own things, runs and terminals keep their ids. Those of other offices come after them, with names
/// prefixed by the office: `oak/ps1`. A route is included once.
#[derive(Clone, Copy, Debug)]
pub struct MergedOffice<'n> {
    /// The office, merged with its neighbours.
    pub office: &'n Office,
    /// Networks of the merged office.
    pub networks: &'n Networks,
}

/// An office merged with its neighbours.
#[derive(Debug)]
pub(super) struct MergedOfficeData {
    pub office: Office,
    pub networks: Networks,
}

/// The contents of another office in a merged one.
#[derive(Clone, Debug)]
pub(crate) struct ImportedOffice {
    /// The position of its text.
    pub embedding: Embedding,
    /// Things of that office, without those that were already present.
    things: std::ops::Range<ThingId>,
    /// The cables of routes that end in that office.
    ending: Vec<ThingId>,
    /// The things of the routes that it uses.
    of_routes: Vec<ThingId>,
    /// Those whose office at the other end is not present.
    open: Vec<ThingId>,
    /// Run ends there on things excluded because of their stage.
    left_out: Vec<End>,
}

impl MergedOfficeData {
    /// Merges an office with its neighbours.
    pub fn of(office: &Office) -> Self {
        let mut merged = office.clone();
        let mut text = office.text.to_string();
        let mut routes: FxHashMap<SharedThing, ThingId> = office.shared_things().collect();
        for other in &office.neighbours {
            merged.import(other, &mut text, &mut routes);
        }
        merged.text = text.into();
        merged.in_air = OnceLock::new();
        merged.index();
        let networks = Networks::alone(&merged);
        Self {
            office: merged,
            networks,
        }
    }
}

impl Office {
    /// Adds another office, except for `routes` already present. Its text is appended to `text`.
    fn import(&mut self, other: &Self, text: &mut String, routes: &mut FxHashMap<SharedThing, ThingId>) {
        let prefix = other
            .itself
            .map_or_else(String::new, |id| format!("{}/", other.name(id)));
        // The name of the office itself gets no prefix.
        let itself = other.itself.map(|id| other.thing(id).name.start);
        let all = names(other);
        let names = all.iter().copied().filter(|name| Some(*name) != itself);
        let mut embedding = Embedding::new(prefix, names.collect());
        embedding.write(&other.text, text);
        let first = self.things.len();
        let mut numbers: Vec<ThingId> = Vec::with_capacity(other.things.len());
        let mut next = first;
        for (id, _) in other.things() {
            let shared = other.shared(id);
            let known = shared.and_then(|shared| routes.get(&shared).copied());
            numbers.push(known.unwrap_or_else(|| {
                next += 1;
                ThingId::from(next - 1)
            }));
            if let (Some(shared), Some(number)) = (shared, numbers.last()) {
                routes.insert(shared, *number);
            }
        }
        let number = |thing: ThingId| numbers.get(usize::from(thing)).copied().unwrap_or(thing);
        for (id, thing) in other.things() {
            if usize::from(number(id)) >= first {
                self.things.push(imported(thing, &embedding, &number));
            }
        }
        let is_known = |placed: &PlacedDrawing| usize::from(number(placed.things.start)) < first;
        for run in &other.runs {
            let is_there = other
                .placed_at(run.range)
                .is_some_and(|own| own.is_route() && is_known(own));
            if !is_there {
                self.runs.push(embedding.run(run, number));
            }
        }
        let wired = other.wired.iter().map(|wired| StatedRange {
            end: embedding.end(wired.end, number),
            range: embedding.placed(wired.range),
            ..wired.clone()
        });
        self.wired.extend(wired);
        let things_of = |is_meant: &dyn Fn(&PlacedDrawing) -> bool| {
            let routes = other
                .placed
                .iter()
                .filter(|placed| placed.is_route() && is_meant(placed));
            let things = routes.flat_map(|placed| usize::from(placed.things.start)..usize::from(placed.things.end));
            things.map(|id| number(ThingId::from(id))).collect::<Vec<_>>()
        };
        let is_here = |path: &str| *self.path == *path || self.neighbours.iter().any(|office| *office.path == *path);
        let is_open = |placed: &PlacedDrawing| other_end(placed, &other.path).is_none_or(|end| !is_here(end));
        let left_out = other.excluded.runs.iter().flat_map(|(_, run)| &run.ends);
        let left_out = left_out.map(|end| embedding.end(*end, number)).collect();
        let imported = ImportedOffice {
            things: ThingId::from(first)..ThingId::from(self.things.len()),
            ending: things_of(&|placed| placed.ends_here),
            of_routes: things_of(&|_| true),
            open: things_of(&is_open),
            left_out,
            embedding,
        };
        self.imported.push(imported);
    }

    /// Whether a wire may continue from a terminal of a route in an office that is not known here: a planned or
    /// unreadable one, or at a thing that another office excludes because of its stage.
    pub fn may_go_on(&self, terminal: &Terminal) -> bool {
        let thing = terminal.thing;
        let is_it = |end: &End| {
            let (from, to) = end.numbers;
            let is_port = end.port.is_some_and(|port| std::ptr::eq(port, terminal.port));
            end.thing == Some(thing) && is_port && (from..=to).contains(&terminal.number)
        };
        let may = |(imported, other): (&ImportedOffice, &Arc<Self>)| {
            imported.open.contains(&thing)
                || imported.left_out.iter().any(is_it)
                || (imported.of_routes.contains(&thing) && other.unsure.about(Medium::Wire))
        };
        let own = self.route_with(thing);
        own.is_some_and(|route| self.is_apart(route)) || self.imported.iter().zip(&self.neighbours).any(may)
    }

    /// Whether a thing belongs to this office, not to a neighbour merged with it.
    pub fn has(&self, thing: ThingId) -> bool {
        let imported = self.imported.first().map(|imported| imported.things.start);
        thing < imported.unwrap_or(ThingId::from(self.things.len()))
    }

    /// The neighbour that a thing belongs to.
    pub fn office_of(&self, thing: ThingId) -> Option<&Arc<Self>> {
        let mut all = self.imported.iter().zip(&self.neighbours);
        let (_, office) = all.find(|(imported, _)| imported.things.contains(&thing))?;
        Some(office)
    }

    /// The neighbour whose file has a run.
    pub fn office_of_run(&self, run: RunId) -> Option<&Arc<Self>> {
        let start = self.run(run).range.start;
        let mut all = self.imported.iter().zip(&self.neighbours).rev();
        let (_, office) = all.find(|(imported, _)| imported.embedding.start() <= start)?;
        Some(office)
    }

    /// Whether a run joins the cable of a route at its end rather than at its beginning.
    pub fn is_at_far_end(&self, run: &Run, cable: ThingId) -> bool {
        let imported = self.imported.iter().rev();
        match imported
            .clone()
            .find(|imported| imported.embedding.start() <= run.range.start)
        {
            Some(imported) => imported.ending.contains(&cable),
            None => self.route_with(cable).is_some_and(|route| route.ends_here),
        }
    }
}

/// Converts a thing of another office.
fn imported(thing: &Thing, embedding: &Embedding, number: &impl Fn(ThingId) -> ThingId) -> Thing {
    let mut fields = thing.fields.clone();
    for field in &mut fields {
        import_field(field, embedding, number);
    }
    Thing {
        name: embedding.placed(thing.name),
        range: embedding.placed(thing.range),
        fields,
        ..thing.clone()
    }
}

/// Converts names in a field. The field itself keeps its place.
fn import_field(field: &mut Field, embedding: &Embedding, number: &impl Fn(ThingId) -> ThingId) {
    match &mut field.value {
        Value::Group(fields) | Value::Named { fields, .. } => {
            for field in fields {
                import_field(field, embedding, number);
            }
        }
        Value::At(at) => {
            at.name = embedding.placed(at.name);
            at.thing = at.thing.map(number);
        }
        Value::Thing(other) => {
            other.range = embedding.placed(other.range);
            other.thing = other.thing.map(number);
        }
        _ => {}
    }
}
