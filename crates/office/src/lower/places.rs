//! Resolves what stands at a cable or air pipe.

use drysheath_text::TextRange;

use super::Lowering;
use crate::kinds::{Key, KindId};
use crate::model::ThingId;
use crate::problem::{Problem, ProblemId};
use crate::spelling::nearest;
use crate::value::{At, Field, Fields, Value};

impl Lowering<'_> {
    /// Resolves what stands `at` a cable or air pipe.
    pub(super) fn places(&mut self) {
        let mut problems = Vec::new();
        let mut resolved = Vec::new();
        for (id, thing) in self.office.things() {
            for (index, field) in thing.fields.iter().enumerate() {
                let Value::At(at) = &field.value else { continue };
                // A part cannot know the names of an office.
                if field.place.file != self.office.file {
                    continue;
                }
                match self.office.named(at.name.of(self.text)) {
                    Some(host) => match self.host_problem(host, at, field.place.range) {
                        None => resolved.push((id, index, host)),
                        Some(problem) => problems.push((id, Some(problem))),
                    },
                    None if self.office.unsure.names => problems.push((id, None)),
                    None => problems.push((id, Some(self.unknown_host(at.name)))),
                }
            }
        }
        for (id, index, host) in resolved {
            let field = self
                .office
                .things
                .get_mut(id.0 as usize)
                .and_then(|thing| thing.fields.get_mut(index));
            if let Some(Field {
                value: Value::At(at), ..
            }) = field
            {
                at.thing = Some(host);
            }
        }
        for (id, problem) in problems {
            if let Some(thing) = self.office.things.get_mut(id.0 as usize) {
                thing.damaged = true;
            }
            self.office.problems.extend(problem);
        }
    }

    fn unknown_host(&self, range: TextRange) -> Problem {
        let name = range.of(self.text);
        let hosts = self
            .office
            .things()
            .filter(|(_, thing)| thing.is(KindId::Cable) || thing.is(KindId::AirPipe));
        let mut hosts: Vec<_> = hosts.map(|(_, thing)| thing.name.of(self.text)).collect();
        hosts.sort_unstable();
        let problem = Problem::new(
            ProblemId::NameUnknown,
            range,
            format!("no cable or air pipe here is named `{name}`"),
        );
        match nearest(name, hosts) {
            Some(near) => problem.meant(near),
            None => problem,
        }
    }

    fn host_problem(&self, host: ThingId, at: &At, range: TextRange) -> Option<Problem> {
        let thing = self.office.thing(host);
        let kind = thing.kind?;
        let name = at.name.of(self.text);
        if !matches!(kind.id, KindId::Cable | KindId::AirPipe) {
            let message = format!(
                "`{name}` is a {}, and only a cable or an air pipe has places along it",
                kind.word()
            );
            return Some(Problem::new(ProblemId::ValueUnreadable, at.name, message));
        }
        if thing.damaged {
            return None;
        }
        let lacks = |key: Key, wanted: &str| {
            let known: Vec<_> = thing.named(key).map(|(name, ..)| name).collect();
            if known.contains(&wanted) {
                return None;
            }
            let problem = Problem::new(
                ProblemId::NameUnknown,
                range,
                format!("`{name}` has no {} named `{wanted}`", key.word()),
            );
            Some(match nearest(wanted, known) {
                Some(near) => problem.help(format!("is `{near}` meant?")),
                None => problem,
            })
        };
        let branch = at.branch.as_deref().and_then(|branch| lacks(Key::Branch, branch));
        branch.or_else(|| at.place.as_deref().and_then(|place| lacks(Key::Place, place)))
    }
}
