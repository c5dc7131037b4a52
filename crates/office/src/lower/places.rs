//! Resolves the locations of things on cables and air pipes.

use drysheath_text::TextRange;

use super::Lowering;
use crate::kinds::{Key, KindId, Shape};
use crate::model::ThingId;
use crate::problem::{Problem, ProblemId};
use crate::spelling::{nearest, with_article};
use crate::value::{Field, Fields, StatedPosition, ThingReference, Value};

impl Lowering<'_> {
    /// Resolves the values of `at` fields.
    pub(super) fn places(&mut self) {
        let file = self.office.file;
        let own_length = self.office.own_length;
        // Locations in a drawing were resolved there.
        let is_own = |field: &Field| field.place.file == file && field.place.range.end <= own_length;
        let fields = self.office.things.iter().flat_map(|thing| &thing.fields);
        // A part cannot know the names of an office.
        let own = fields.filter(|field| is_own(field));
        let hosts: Vec<_> = own
            .filter_map(|field| match &field.value {
                Value::At(at) => Some(self.host(at, field.place.range)),
                _ => None,
            })
            .collect();
        let mut hosts = hosts.into_iter();
        for thing in &mut self.office.things {
            for field in thing.fields.iter_mut().filter(|field| is_own(field)) {
                let Value::At(at) = &mut field.value else { continue };
                match hosts.next() {
                    Some(Ok(host)) => at.thing = Some(host),
                    Some(Err(problem)) => {
                        thing.damaged = true;
                        self.office.problems.extend(problem.map(|problem| *problem));
                    }
                    None => {}
                }
            }
        }
    }

    /// Resolves the values of fields that name another thing.
    pub(super) fn others(&mut self) {
        let mut found = Vec::new();
        let is_own = |field: &Field| field.place.file == self.office.file && self.office.is_own(field.place.range);
        for (id, thing) in self.office.things() {
            for (at, field) in thing.fields.iter().enumerate() {
                let (Value::Thing(other), Shape::Thing(kind)) = (&field.value, field.spec.shape) else {
                    continue;
                };
                if other.thing.is_some() {
                    continue;
                }
                // An assembly may name a room of the office that places it.
                if self.office.drawing.is_some() && kind == KindId::Room && self.office.named(&other.name).is_none() {
                    continue;
                }
                // Do not report in the file of the part what this office lacks.
                let range = if is_own(field) { other.range } else { thing.name };
                found.push((id, at, self.other(other, kind, range)));
            }
        }
        for (id, at, other) in found {
            let thing = self.office.thing_mut(id);
            match other {
                Ok(other) => {
                    if let Some(Value::Thing(named)) = thing.fields.get_mut(at).map(|field| &mut field.value) {
                        named.thing = Some(other);
                    }
                }
                Err(problem) => self.office.problems.extend(problem.map(|problem| *problem)),
            }
        }
    }

    /// The thing that a field names, or the problem with it, unless another problem covers it.
    fn other(&self, other: &ThingReference, kind: KindId, range: TextRange) -> Result<ThingId, Option<Box<Problem>>> {
        let (name, word) = (&other.name, <&str>::from(kind));
        let Some(id) = self.office.named(name) else {
            let message = format!("no {word} in this office is named `{name}`");
            let problem = Problem::new(ProblemId::NameUnknown, range, message);
            let is_looked_up = self.suggestions.next();
            let known: Vec<&str> = self
                .office
                .things()
                .filter(|(_, thing)| is_looked_up && thing.is(kind))
                .map(|(id, _)| self.office.name(id))
                .collect();
            let problem = match nearest(name, known).filter(|_| range == other.range) {
                Some(near) => problem.meant(near),
                None => problem.help(format!("declare it: `{word} {name} {{ title \"…\" }}`")),
            };
            return Err((!self.office.unsure.names).then(|| Box::new(problem)));
        };
        match self.office.thing(id).kind {
            Some(own) if own.id != kind => {
                let message = format!("`{name}` is {}, and no {word}", with_article(own.word()));
                Err(Some(Box::new(Problem::new(ProblemId::ValueUnreadable, range, message))))
            }
            Some(_) => Ok(id),
            None => Err(None),
        }
    }

    /// The cable or air pipe that a thing is located on, or the problem with it, unless another problem covers it.
    fn host(&self, at: &StatedPosition, range: TextRange) -> Result<ThingId, Option<Box<Problem>>> {
        let Some(host) = self.office.named(at.name.of(self.text)) else {
            return Err((!self.office.unsure.names).then(|| Box::new(self.unknown_host(at.name))));
        };
        match self.host_problem(host, at, range) {
            None => Ok(host),
            Some(problem) => Err(Some(Box::new(problem))),
        }
    }

    fn unknown_host(&self, range: TextRange) -> Problem {
        let name = range.of(self.text);
        let is_looked_up = self.suggestions.next();
        let hosts = self
            .office
            .things()
            .filter(|(_, thing)| is_looked_up && (thing.is(KindId::Cable) || thing.is(KindId::AirPipe)));
        let mut hosts: Vec<_> = hosts.map(|(_, thing)| thing.name.of(self.text)).collect();
        hosts.sort_unstable();
        let problem = Problem::new(
            ProblemId::NameUnknown,
            range,
            format!("no cable or air pipe in this office is named `{name}`"),
        );
        match nearest(name, hosts) {
            Some(near) => problem.meant(near),
            None => problem,
        }
    }

    fn host_problem(&self, host: ThingId, at: &StatedPosition, range: TextRange) -> Option<Problem> {
        let thing = self.office.thing(host);
        let kind = thing.kind?;
        let name = at.name.of(self.text);
        if !matches!(kind.id, KindId::Cable | KindId::AirPipe) {
            let message = format!(
                "`{name}` is {}, and only a cable or an air pipe has places along it",
                with_article(kind.word())
            );
            return Some(Problem::new(ProblemId::ValueUnreadable, at.name, message));
        }
        if thing.damaged {
            return None;
        }
        let lacks = |key: Key, wanted: &str| {
            let mut known = thing.named(key).map(|(name, ..)| name);
            if known.any(|name| name == wanted) {
                return None;
            }
            let problem = Problem::new(
                ProblemId::NameUnknown,
                range,
                format!("`{name}` has no {} named `{wanted}`", key.word()),
            );
            let is_looked_up = self.suggestions.next();
            let known = thing.named(key).map(|(name, ..)| name);
            Some(match nearest(wanted, known.filter(|_| is_looked_up)) {
                Some(near) => problem.help(format!("is `{near}` meant?")),
                None => problem,
            })
        };
        let branch = at.branch.as_deref().and_then(|branch| lacks(Key::Branch, branch));
        branch.or_else(|| at.place.as_deref().and_then(|place| lacks(Key::Place, place)))
    }
}
