//! Words of earlier languages: their replacements, and edits that apply them.

use drysheath_syntax::{Fix, formatted};
use drysheath_text::{Edit, TextRange};

use super::Lowering;
use crate::kinds::{FieldSpec, Port, Successor};
use crate::model::{End, SpareRange, ThingId};
use crate::numbers::numbers_written;
use crate::problem::{Problem, ProblemId};
use crate::value::{Field, Value};

/// Problem of a word that has been renamed in the current language.
pub(super) fn renamed(was: &str, now: &str, range: TextRange) -> Problem {
    let problem = Problem::new(ProblemId::WordOutdated, range, format!("`{was}` is now called `{now}`"));
    problem.fix(Fix::replace(range, now, format!("Write `{now}`")))
}

/// A single number where a range belongs: it means that number, not a count.
pub(super) fn single_number(field: &str, number: u32, range: TextRange) -> Problem {
    let message = format!("`{field}` expects a range now: `{number}` alone means the number {number} and no other");
    let now = format!("{number} .. {number}");
    Problem::new(ProblemId::WordOutdated, range, message)
        .help(format!(
            "write `{now}`, or `1 .. {number}` where {number} of them are meant"
        ))
        .fix(Fix::replace(range, &*now, format!("Write `{now}`")))
}

/// Numbers of a port that a field of an earlier language declares spare.
pub(super) struct SaidByField {
    thing: ThingId,
    field: Field,
    port: &'static str,
}

/// Removes fields that are replaced by `spare` statements from those of a thing.
pub(super) fn said_by_field(thing: ThingId, fields: &mut Vec<Field>, out: &mut Vec<SaidByField>) {
    let by_spare = |field: &Field| matches!(field.spec.gone?.successor, Successor::Spare(_)).then_some(());
    // Hardly any thing has one.
    if !fields.iter().any(|field| by_spare(field).is_some()) {
        return;
    }
    for field in fields.extract_if(.., |field| by_spare(field).is_some()) {
        if let Some(Successor::Spare(port)) = field.spec.gone.map(|gone| gone.successor) {
            out.push(SaidByField { thing, field, port });
        }
    }
}

impl Lowering<'_> {
    /// The numbers declared spare by fields of an earlier language, each with a problem whose fix replaces the field.
    pub(super) fn spares_by_field(&mut self, said: &[SaidByField]) -> Vec<SpareRange> {
        let mut spares = Vec::new();
        for said in said {
            let thing = self.office.thing(said.thing);
            let is_own = said.field.place.file == self.office.file && thing.range.contains(said.field.place.range);
            let range = if is_own { said.field.place.range } else { thing.name };
            let mut ports = thing.kind.into_iter().flat_map(|kind| kind.ports);
            let port = ports.find(|port| port.word == said.port);
            let (Value::Numbers(from, to), Some(port)) = (&said.field.value, port) else {
                continue;
            };
            let statement = statement(thing.name.of(self.text), port, *from, *to);
            let below = below(self.text, thing.range.end, &statement);
            let spec = said.field.spec;
            let problem = if is_own {
                let mut edits = vec![without(self.text, range), below];
                // For a thing on one line both edits are at its end.
                edits.sort_by_key(|edit| edit.range.start);
                by_statement(spec, range, &statement).fix(Fix {
                    title: format!("Write `{statement}`"),
                    edits,
                })
            } else {
                let message = format!(
                    "the part of `{}` says `{}`, which is said of each place now",
                    thing.name.of(self.text),
                    spec.word()
                );
                Problem::new(ProblemId::WordOutdated, range, message)
                    .related(said.field.place, format!("`{}` of the part", spec.word()))
                    .help(format!(
                        "write `{statement}`, and take `{}` out of the part",
                        spec.word()
                    ))
                    .fix(Fix {
                        title: format!("Write `{statement}`"),
                        edits: vec![below],
                    })
            };
            spares.push(SpareRange {
                end: End {
                    thing: Some(said.thing),
                    port: Some(port),
                    numbers: (*from, *to),
                    range,
                    detail: range,
                    colours: None,
                },
                range,
                is_rest: false,
                is_field: true,
            });
            self.office.problems.push(problem);
        }
        spares
    }

    /// Problems for fields of a part that are now stated by each thing.
    pub(super) fn outdated_in_part(&mut self, fields: &[Field]) {
        for field in fields {
            if let Some(Successor::Spare(port)) = field.spec.gone.map(|gone| gone.successor)
                && let Value::Numbers(from, to) = field.value
            {
                let range = field.place.range;
                let numbers = numbers_written(from, to);
                let statement = format!("spare NAME {port} {numbers}");
                let problem = by_statement(field.spec, range, &statement).fix(Fix {
                    title: format!("Take `{}` out of the part", field.spec.word()),
                    edits: vec![without(self.text, range)],
                });
                self.office.problems.push(problem);
            }
        }
    }
}

fn by_statement(spec: &FieldSpec, range: TextRange, statement: &str) -> Problem {
    let message = format!("`{}` is a statement of its own now: `{statement}`", spec.word());
    Problem::new(ProblemId::WordOutdated, range, message)
}

fn statement(name: &str, port: &Port, from: u32, to: u32) -> String {
    let statement = formatted(&format!("spare {name} {} {}\n", port.word, numbers_written(from, to)));
    statement.trim_end().to_owned()
}

/// Inserts a statement on its own line below another one.
fn below(text: &str, end: u32, statement: &str) -> Edit {
    let rest = text.get(end as usize..).unwrap_or_default();
    let line = rest.find('\n').unwrap_or(rest.len());
    let is_carried = rest.get(..line).is_some_and(|rest| rest.ends_with('\r'));
    let at = end + (line - usize::from(is_carried)) as u32;
    Edit {
        range: TextRange::empty(at),
        replacement: format!("{}{statement}", if is_carried { "\r\n" } else { "\n" }),
    }
}

/// Removes a field from its block, with its comma or its line.
fn without(text: &str, range: TextRange) -> Edit {
    const BLANKS: [char; 3] = [' ', '\t', '\r'];
    let before = text.get(..range.start as usize).unwrap_or_default();
    let after = text.get(range.end as usize..).unwrap_or_default();
    let (kept_before, kept_after) = (before.trim_end_matches(BLANKS), after.trim_start_matches(BLANKS));
    let follows = kept_after.strip_prefix(',').map(|rest| rest.trim_start_matches(BLANKS));
    let (kept_before, kept_after) = if kept_before.ends_with(',') {
        (kept_before.strip_suffix(',').unwrap_or(kept_before), after)
    } else if let Some(follows) = follows {
        (before, follows)
    } else if kept_before.ends_with('\n') && kept_after.starts_with('\n') {
        (kept_before, kept_after.strip_prefix('\n').unwrap_or(kept_after))
    } else if kept_before.ends_with('{') {
        (kept_before, after)
    } else {
        (before, after)
    };
    let end = text.len() - kept_after.len();
    Edit {
        range: TextRange::new(kept_before.len() as u32, end as u32),
        replacement: String::new(),
    }
}
