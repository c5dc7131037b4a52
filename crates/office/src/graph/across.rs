//! An office and those that routes join with it as one: where its wires and its air go on in other offices.

use std::sync::{Arc, OnceLock};

use drysheath_syntax::Medium;
use rustc_hash::FxHashMap;

use super::{Networks, Terminal};
use crate::drawing::{Placed, SharedThing};
use crate::inset::{Inset, names};
use crate::lower::other_end;
use crate::model::{End, Office, Run, RunId, StatedRange, Thing, ThingId};
use crate::value::{Field, Value};

/// An office with all that routes join with it, and its networks: the office alone, where there are none.
///
/// The office's own things, runs and terminals have the same numbers in both. Things of other offices follow, named after them:
/// `oak/ps1`. A route is in it once.
#[derive(Clone, Copy, Debug)]
pub struct Across<'n> {
    /// The office.
    pub office: &'n Office,
    /// Its networks.
    pub networks: &'n Networks,
}

/// An office and its neighbours as one office.
#[derive(Debug)]
pub(super) struct Together {
    pub office: Office,
    pub networks: Networks,
}

/// What another office brings into one that is both together.
#[derive(Clone, Debug)]
pub(crate) struct Brought {
    /// Where its text lies.
    pub inset: Inset,
    /// Its things, without those that were there already.
    things: std::ops::Range<ThingId>,
    /// The cables of routes that end in that office.
    ending: Vec<ThingId>,
    /// The things of the routes that it uses.
    of_routes: Vec<ThingId>,
    /// Those of them whose other office is not here.
    open: Vec<ThingId>,
    /// What is wired there to things that are left out because of their stage.
    left_out: Vec<End>,
}

impl Together {
    /// Of an office and its neighbours.
    pub fn of(office: &Office) -> Self {
        let mut together = office.clone();
        let mut text = office.text.to_string();
        let mut routes: FxHashMap<SharedThing, ThingId> = office.shared_things().collect();
        for other in &office.neighbours {
            together.bring(other, &mut text, &mut routes);
        }
        together.text = text.into();
        together.in_air = OnceLock::new();
        together.index();
        let networks = Networks::alone(&together);
        Self {
            office: together,
            networks,
        }
    }
}

impl Office {
    /// Brings in another office, whose text is appended to `text`, apart from the `routes` that are there already.
    fn bring(&mut self, other: &Self, text: &mut String, routes: &mut FxHashMap<SharedThing, ThingId>) {
        let prefix = other
            .itself
            .map_or_else(String::new, |id| format!("{}/", other.name(id)));
        // The office itself has no office before its name.
        let itself = other.itself.map(|id| other.thing(id).name.start);
        let all = names(other);
        let names = all.iter().copied().filter(|name| Some(*name) != itself);
        let mut inset = Inset::new(prefix, names.collect());
        inset.write(&other.text, text);
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
                self.things.push(brought(thing, &inset, &number));
            }
        }
        let is_known = |placed: &Placed| usize::from(number(placed.things.start)) < first;
        for run in &other.runs {
            let is_there = other
                .placed_at(run.range)
                .is_some_and(|own| own.is_route() && is_known(own));
            if !is_there {
                self.runs.push(inset.run(run, number));
            }
        }
        let wired = other.wired.iter().map(|wired| StatedRange {
            end: inset.end(wired.end, number),
            range: inset.placed(wired.range),
            ..wired.clone()
        });
        self.wired.extend(wired);
        let things_of = |is_meant: &dyn Fn(&Placed) -> bool| {
            let routes = other
                .placed
                .iter()
                .filter(|placed| placed.is_route() && is_meant(placed));
            let things = routes.flat_map(|placed| usize::from(placed.things.start)..usize::from(placed.things.end));
            things.map(|id| number(ThingId::from(id))).collect::<Vec<_>>()
        };
        let is_here = |path: &str| *self.path == *path || self.neighbours.iter().any(|office| *office.path == *path);
        let is_open = |placed: &Placed| other_end(placed, &other.path).is_none_or(|end| !is_here(end));
        let left_out = other.aside.runs.iter().flat_map(|(_, run)| &run.ends);
        let left_out = left_out.map(|end| inset.end(*end, number)).collect();
        let brought = Brought {
            things: ThingId::from(first)..ThingId::from(self.things.len()),
            ending: things_of(&|placed| placed.ends_here),
            of_routes: things_of(&|_| true),
            open: things_of(&is_open),
            left_out,
            inset,
        };
        self.brought.push(brought);
    }

    /// Whether a wire may go on from a terminal of a route in an office that is not known here: one that is planned or cannot be
    /// read, or from what is left out of another because of its stage.
    pub fn may_go_on(&self, terminal: &Terminal) -> bool {
        let thing = terminal.thing;
        let is_it = |end: &End| {
            let (from, to) = end.numbers;
            let is_port = end.port.is_some_and(|port| std::ptr::eq(port, terminal.port));
            end.thing == Some(thing) && is_port && (from..=to).contains(&terminal.number)
        };
        let may = |(brought, other): (&Brought, &Arc<Self>)| {
            brought.open.contains(&thing)
                || brought.left_out.iter().any(is_it)
                || (brought.of_routes.contains(&thing) && other.unsure.about(Medium::Wire))
        };
        let own = self.route_with(thing);
        own.is_some_and(|route| self.is_apart(route)) || self.brought.iter().zip(&self.neighbours).any(may)
    }

    /// Whether a thing is one of this office, alone, and not of those that its wires lead to.
    pub fn has(&self, thing: ThingId) -> bool {
        let brought = self.brought.first().map(|brought| brought.things.start);
        thing < brought.unwrap_or(ThingId::from(self.things.len()))
    }

    /// The other office that a thing is brought in from.
    pub fn office_of(&self, thing: ThingId) -> Option<&Arc<Self>> {
        let mut all = self.brought.iter().zip(&self.neighbours);
        let (_, office) = all.find(|(brought, _)| brought.things.contains(&thing))?;
        Some(office)
    }

    /// The other office whose file has a run.
    pub fn office_of_run(&self, run: RunId) -> Option<&Arc<Self>> {
        let start = self.run(run).range.start;
        let mut all = self.brought.iter().zip(&self.neighbours).rev();
        let (_, office) = all.find(|(brought, _)| brought.inset.start() <= start)?;
        Some(office)
    }

    /// Whether a run of an office joins the cable of a route where it ends, and not where it begins.
    pub fn is_at_far_end(&self, run: &Run, cable: ThingId) -> bool {
        let brought = self.brought.iter().rev();
        match brought.clone().find(|brought| brought.inset.start() <= run.range.start) {
            Some(brought) => brought.ending.contains(&cable),
            None => self.route_with(cable).is_some_and(|route| route.ends_here),
        }
    }
}

/// A thing of another office.
fn brought(thing: &Thing, inset: &Inset, number: &impl Fn(ThingId) -> ThingId) -> Thing {
    let mut fields = thing.fields.clone();
    for field in &mut fields {
        bring_field(field, inset, number);
    }
    Thing {
        name: inset.placed(thing.name),
        range: inset.placed(thing.range),
        fields,
        ..thing.clone()
    }
}

/// What a field names is brought in too. The field itself stays where it is written.
fn bring_field(field: &mut Field, inset: &Inset, number: &impl Fn(ThingId) -> ThingId) {
    match &mut field.value {
        Value::Group(fields) | Value::Named { fields, .. } => {
            for field in fields {
                bring_field(field, inset, number);
            }
        }
        Value::At(at) => {
            at.name = inset.placed(at.name);
            at.thing = at.thing.map(number);
        }
        Value::Thing(other) => {
            other.range = inset.placed(other.range);
            other.thing = other.thing.map(number);
        }
        _ => {}
    }
}
