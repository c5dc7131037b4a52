//! Reports what a thing still has to say.

use drysheath_text::TextRange;

use super::Lowering;
use super::fields::Owner;
use crate::kinds::{FieldSpec, Key, Need, SURROUNDINGS, Shape};
use crate::model::{Office, Thing};
use crate::problem::{Problem, ProblemId};
use crate::value::{Field, Fields, Value};

impl Lowering<'_> {
    /// Reports what each thing still has to say, once for each thing and once for each of its named fields.
    pub(super) fn missing_fields(&mut self) {
        self.missing_in_parts();
        // A file without an office is not a record yet.
        if self.office.itself.is_none() && !self.office.unsure.things {
            return;
        }
        let planned = self.office.is_planned();
        let file = self.office.file;
        let mut problems = Vec::new();
        for thing in &self.office.things {
            let Some(kind) = thing.kind.filter(|_| !thing.damaged) else {
                continue;
            };
            let lacking = self.office.fields_missing(thing);
            let owner = Owner {
                word: kind.word(),
                name: Some(thing.name.of(self.text)),
            };
            problems.extend(lacks(&lacking, owner, thing.name, planned));
            let own = |field: &&Field| field.place.file == file && thing.range.contains(field.place.range);
            for field in thing.fields.iter().filter(own) {
                inner_missing(field, planned, &mut problems);
            }
        }
        self.office.problems.extend(problems);
    }

    /// Reports what the blocks within a part have to say. A thing can say more fields than its part, but not within such a
    /// block, which it takes as a whole.
    fn missing_in_parts(&mut self) {
        let planned = self.office.itself.is_none() || self.office.is_planned();
        let mut problems = Vec::new();
        for part in self.office.parts.iter().filter(|part| !part.damaged) {
            for field in &part.fields {
                inner_missing(field, planned, &mut problems);
            }
        }
        self.office.problems.extend(problems);
    }
}

impl Office {
    /// The fields that a thing has to state and does not, in words.
    pub fn fields_missing(&self, thing: &Thing) -> Vec<String> {
        let specs = thing.kind.map_or(&[][..], |kind| kind.fields);
        missing(&thing.fields, specs, self.is_planned())
    }
}

fn inner_missing(field: &Field, planned: bool, problems: &mut Vec<Problem>) {
    let (specs, fields, name, range) = match (&field.value, field.spec.shape) {
        (Value::Group(fields), Shape::Group(specs)) => (specs, fields, None, field.place.range),
        (Value::Named { name, place, fields }, Shape::Named(specs)) => (specs, fields, Some(&**name), place.range),
        _ => return,
    };
    let owner = Owner {
        word: field.spec.word(),
        name,
    };
    problems.extend(lacks(&missing(fields, specs, planned), owner, range, planned));
    for inner in fields.iter().filter(|inner| inner.spec.shape.is_block()) {
        inner_missing(inner, planned, problems);
    }
}

fn lacks(lacking: &[String], owner: Owner<'_>, range: TextRange, planned: bool) -> Option<Problem> {
    let list = match lacking {
        [] => return None,
        [only] => only.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    };
    let problem = Problem::new(ProblemId::FieldMissing, range, format!("{owner} has no {list}"));
    Some(problem.help(if planned {
        "nothing that depends on it can be checked"
    } else {
        "an installed office needs the whole record"
    }))
}

/// The fields that `specs` requires and `fields` lacks, in words.
fn missing(fields: &[Field], specs: &'static [FieldSpec], planned: bool) -> Vec<String> {
    let is_section = specs.iter().any(|spec| spec.key == Key::Resistance);
    let homeless = is_section && !SURROUNDINGS.iter().any(|key| fields.has(*key));
    let length = homeless.then(|| "length, by `underground`, `buried` or `aerial`".to_owned());
    let asked = specs
        .iter()
        .filter(|spec| spec.need == Need::Always || (spec.need == Need::Installed && !planned));
    let lacking = asked
        .filter(|spec| !fields.has(spec.key))
        .map(|spec| format!("`{}`", spec.word()));
    lacking.chain(length).collect()
}
