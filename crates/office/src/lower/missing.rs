//! Reports required fields that are missing.

use std::fmt::Display;

use drysheath_syntax::Medium;
use drysheath_text::TextRange;
use rustc_hash::FxHashSet;

use super::Lowering;
use super::fields::Owner;
use crate::kinds::{FieldSpec, Key, KindId, MonitorSupply, Need, SURROUNDINGS, Shape};
use crate::model::{Office, Thing, ThingId};
use crate::problem::{Problem, ProblemId};
use crate::value::{Field, Fields, Value};

impl Lowering<'_> {
    /// Reports missing fields, once for each thing and once for each of its groups and named fields.
    pub(super) fn missing_fields(&mut self) {
        // A file without an office is not a record yet.
        if self.office.drawing.is_some() || self.office.itself.is_none() && !self.office.unsure.things {
            return;
        }
        let planned = self.office.is_planned();
        let mut problems = Vec::new();
        for (id, thing) in self.office.things() {
            let is_asked = !thing.damaged && !self.office.excluded.has(id);
            let Some(kind) = thing.kind.filter(|_| is_asked) else {
                continue;
            };
            let lacking = self.office.fields_missing(thing);
            let owner = Owner {
                word: kind.word(),
                name: Some(thing.name.of(self.text)),
            };
            if !lacking.is_empty() {
                let by_stage = !planned && missing(thing, kind.fields, true).len() < lacking.len();
                problems.extend(lacks(&lacking, owner, thing.name, by_stage));
            }
            for field in &thing.fields {
                // Fields for the air network are not required of a cable without air.
                let is_excused = planned || field.spec.key == Key::Section && self.office.may_only_carry_pairs(id);
                self.inner_missing(field, thing, is_excused, &mut problems);
            }
        }
        self.office.problems.extend(problems);
    }

    fn inner_missing(&self, field: &Field, thing: &Thing, planned: bool, problems: &mut Vec<Problem>) {
        let (specs, fields, name, range) = match (&field.value, field.spec.shape) {
            (Value::Group(fields), Shape::Group(specs)) => (specs, fields, None, field.place.range),
            (Value::Named { name, place, fields }, Shape::Named(specs)) => (specs, fields, Some(&**name), place.range),
            _ => return,
        };
        let lacking = missing(fields.as_slice(), specs, planned);
        for inner in fields.iter().filter(|inner| inner.spec.shape.is_block()) {
            self.inner_missing(inner, thing, planned, problems);
        }
        if lacking.is_empty() {
            return;
        }
        let by_stage = !planned && missing(fields.as_slice(), specs, true).len() < lacking.len();
        let is_own = field.place.file == self.office.file && thing.range.contains(field.place.range);
        let owner = Owner {
            word: field.spec.word(),
            name,
        };
        problems.extend(if is_own {
            lacks(&lacking, owner, range, by_stage)
        } else {
            // The block is in the part, which leaves these fields to the thing.
            let owner = format!("{owner} of `{}`", thing.name.of(self.text));
            lacks(&lacking, owner, thing.name, by_stage)
        });
    }
}

impl Office {
    /// Whether nothing is stated about the air in a cable, and no sensor is on it. The language has no word for cable
    /// without air.
    pub fn may_only_carry_pairs(&self, id: ThingId) -> bool {
        let thing = self.thing(id);
        let of_air = |fields: &[Field]| {
            let keys = [Key::Resistance, Key::Usage, Key::Volume, Key::Minimum];
            keys.into_iter().any(|key| fields.has(key))
        };
        thing.is(KindId::Cable)
            && !thing.has(Key::Rating)
            && !thing.has(Key::Branch)
            && !thing.named(Key::Section).any(|(.., fields)| of_air(fields))
            && !self.in_air().contains(&id)
    }

    /// Things that something is located on, or that an air run names.
    fn in_air(&self) -> &FxHashSet<ThingId> {
        self.in_air.get_or_init(|| {
            let hosts = self.things().filter_map(|(id, _)| self.host(id)?.thing);
            let runs = self.runs.iter().filter(|run| run.medium == Medium::Air);
            let ends = runs.flat_map(|run| &run.ends).filter_map(|end| end.thing);
            hosts.chain(ends).collect()
        })
    }

    /// Required fields that a thing does not state, as text.
    pub fn fields_missing(&self, thing: &Thing) -> Vec<String> {
        let specs = thing.kind.map_or(&[][..], |kind| kind.fields);
        missing(thing, specs, self.is_planned())
    }
}

/// The problem of missing fields. With `by_stage` some of them may be left out while the office is planned.
fn lacks(lacking: &[String], owner: impl Display, range: TextRange, by_stage: bool) -> Option<Problem> {
    let list = match lacking {
        [] => return None,
        [only] => only.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    };
    let problem = Problem::new(ProblemId::FieldMissing, range, format!("{owner} has no {list}"));
    Some(problem.help(if by_stage {
        "an installed office needs the whole record"
    } else {
        "nothing that depends on it can be checked"
    }))
}

/// The fields that `specs` requires and `fields` lacks, as text.
fn missing(fields: &(impl Fields + ?Sized), specs: &'static [FieldSpec], planned: bool) -> Vec<String> {
    let is_section = specs.iter().any(|spec| spec.key == Key::Resistance);
    let homeless = is_section && !SURROUNDINGS.iter().any(|key| fields.has(*key));
    let length = homeless.then(|| "length, by `underground`, `buried` or `aerial`".to_owned());
    let asked = specs
        .iter()
        .filter(|spec| spec.need == Need::Always || (spec.need == Need::Installed && !planned));
    let is_excused = |key| match key {
        // A monitor on the mains needs no battery figures.
        Key::Draws | Key::Window => fields.choice(Key::Supply) == Some(MonitorSupply::Mains),
        // A lead whose resistance is stated needs no size and length.
        Key::Gauge | Key::Length => fields.has(Key::Loop),
        _ => false,
    };
    let lacking = asked
        .filter(|spec| !fields.has(spec.key) && !is_excused(spec.key))
        .map(|spec| format!("`{}`", spec.word()));
    lacking.chain(length).collect()
}
