//! Reads the declarations of things and parts.

use std::sync::Arc;

use drysheath_syntax::{self as syntax, Block, Statement, StatementKind};
use drysheath_text::TextRange;

use super::Lowering;
use super::assemblies::without_things_within;
use super::fields::{FieldReader, Owner, Slots};
use super::uses::{PartLookup, PartsWithinReach};
use crate::kinds::{KINDS, Kind, KindId};
use crate::parts::Part;
use crate::problem::{Problem, ProblemId};
use crate::spelling::{nearest, with_article};
use crate::value::{Field, Value};

impl Lowering<'_> {
    pub(super) fn kind(&mut self, thing: &syntax::Thing, damaged: bool) -> Option<&'static Kind> {
        let word = thing.kind?;
        let written = self.word(word);
        let kind = Kind::find(written);
        if kind.is_none() && !damaged {
            let range = self.tree.range(word);
            let words = KINDS.iter().map(|kind| kind.word());
            let problem = Problem::new(ProblemId::KindUnknown, range, format!("unknown kind `{written}`"));
            self.office.problems.push(match nearest(written, words.clone()) {
                Some(near) => problem.meant(near),
                None => problem.help(format!("the kinds are {}", words.collect::<Vec<_>>().join(", "))),
            });
        }
        kind
    }

    pub(super) fn own_fields(
        &mut self,
        thing: &syntax::Thing,
        kind: Option<&'static Kind>,
        statement: &Statement,
    ) -> (Vec<Field>, bool) {
        if self.joins_another(statement) {
            self.office.unsure.doubt_everything();
            return (Vec::new(), true);
        }
        let (Some(kind), Some(block)) = (kind, &thing.block) else {
            return (Vec::new(), statement.damaged);
        };
        // Without a drawing it contains nothing.
        let of_assembly = (kind.id == KindId::Assembly && (thing.part.is_some() || statement.damaged))
            .then(|| without_things_within(kind, block, self.tree, self.text));
        let block = of_assembly.as_ref().unwrap_or(block);
        let name = thing.name.map(|name| self.tree.range(name));
        self.fields_of(kind, name, block, statement.damaged)
    }

    /// The fields in the block of a thing of a kind, and whether some of them cannot be read; always true with
    /// `damaged`.
    pub(super) fn fields_of(
        &mut self,
        kind: &'static Kind,
        name: Option<TextRange>,
        block: &Block,
        damaged: bool,
    ) -> (Vec<Field>, bool) {
        let mut reader = FieldReader {
            file: self.office.file,
            standard: self.office.standard,
            text: self.text,
            tree: self.tree,
            problems: &mut self.office.problems,
            damaged,
            depth: 0,
            slots: Slots::default(),
            annotations: None,
        };
        let owner = Owner {
            word: kind.word(),
            name: name.map(|name| name.of(self.text)),
        };
        let fields = reader.block(block, kind.fields, owner);
        (fields, reader.damaged)
    }

    pub(super) fn parts(&mut self, parts: &PartsWithinReach<'_>) {
        for statement in &self.tree.statements {
            let thing = match &statement.kind {
                StatementKind::Part(thing) => thing,
                // The statement that places the assembly takes it as its part.
                StatementKind::Thing(thing) if self.office.drawing == Some(statement.range) => thing,
                _ => continue,
            };
            let kind = self.kind(thing, statement.damaged);
            let (mut fields, damaged) = self.own_fields(thing, kind, statement);
            self.of_one_thing(&mut fields);
            let (Some(kind), Some(name)) = (kind, thing.name) else {
                self.office.unsure.names = true;
                continue;
            };
            let range = self.tree.range(name);
            let name: Box<str> = range.of(self.text).into();
            let earlier = self.office.part_called_here(&name).map(|part| part.place);
            let earlier = earlier.or_else(|| parts.part(&name).map(|part| part.place));
            if let Some(earlier) = earlier {
                self.office.problems.push(
                    Problem::new(
                        ProblemId::NameTwice,
                        range,
                        format!("a part named `{name}` is declared already"),
                    )
                    .related(earlier, format!("the other part `{name}`"))
                    .help("rename one of the two"),
                );
                continue;
            }
            self.outdated_in_part(&fields);
            let place = self.office.place(range);
            self.office.part_names.insert(name.clone(), self.office.parts.len());
            self.office.parts.push(Arc::new(Part {
                kind,
                name,
                of: thing.part.map(|part| self.word(part).into()),
                place,
                fields,
                damaged,
            }));
        }
        self.bases(parts);
    }

    /// Checks the base parts of this file's parts. A part with an unsuitable base counts as damaged.
    fn bases(&mut self, parts: &PartsWithinReach<'_>) {
        for statement in &self.tree.statements {
            let StatementKind::Part(thing) = &statement.kind else {
                continue;
            };
            let (Some(name), Some(base)) = (thing.name.map(|name| self.tree.range(name)), thing.part) else {
                continue;
            };
            let own = self.office.parts.binary_search_by_key(&name, |part| part.place.range);
            let Ok(at) = own else { continue };
            let range = self.tree.range(base);
            self.take(range);
            let problem = match self.look_up_part(range, parts) {
                PartLookup::Part(base) => {
                    let part = self.office.parts.get(at);
                    let problem = part.and_then(|part| wrong_base(part, &base, range));
                    // A chain that closes across files is reported as a ring of these files.
                    let is_own = |problem: &Problem| problem.id != ProblemId::PartChain || !parts.is_in_ring(&base);
                    problem.filter(is_own).map(Some)
                }
                PartLookup::Several(problem) => Some(Some(problem)),
                PartLookup::Unknown if parts.unsure || self.lost_use() || self.office.unsure.names => None,
                PartLookup::Unknown if self.meant_as_part(range.of(self.text), range) => Some(None),
                PartLookup::Unknown => Some(Some(self.unknown_part(range, parts))),
            };
            let Some(problem) = problem else { continue };
            // If two parts in one file are based on each other, the first one reports it.
            let part = self.office.parts.get(at);
            let first = part.and_then(|part| {
                let other = *self.office.part_names.get(part.of.as_deref()?)?;
                let other = self.office.parts.get(other).filter(|_| other < at)?;
                is_of_each_other(other, part).then_some(())
            });
            if first.is_none() {
                self.office.problems.extend(problem);
            }
            if let Some(part) = self.office.parts.get_mut(at).and_then(Arc::get_mut) {
                part.damaged = true;
            }
        }
    }

    /// Removes fields from a part that only a single thing can have, and reports them.
    fn of_one_thing(&mut self, fields: &mut Vec<Field>) {
        let problems = &mut self.office.problems;
        fields.retain(|field| {
            let Value::FormerName(name) = &field.value else {
                return true;
            };
            let message = format!("a part stands for many things, and only one of them was called `{name}`");
            problems.push(
                Problem::new(ProblemId::ValueUnreadable, field.place.range, message)
                    .help("say `formerly` in the thing itself"),
            );
            false
        });
    }
}

/// Whether two parts of one file are based on each other.
fn is_of_each_other(one: &Part, other: &Part) -> bool {
    let is_of = |one: &Part, other: &Part| one.of.as_ref() == Some(&other.name);
    one.place.file == other.place.file && is_of(one, other) && is_of(other, one)
}

/// The problem that prevents `part` from being based on `base`, as stated at `range`.
fn wrong_base(part: &Part, base: &Part, range: TextRange) -> Option<Problem> {
    let name = &base.name;
    if base.place == part.place {
        let problem = Problem::new(
            ProblemId::PartChain,
            range,
            format!("part `{name}` is said to be of itself"),
        );
        return Some(problem.help("name another part, or delete it"));
    }
    if base.kind.id != part.kind.id {
        let problem = Problem::new(
            ProblemId::PartWrongKind,
            range,
            format!(
                "part `{name}` is {}, and part `{}` is {}",
                with_article(base.kind.word()),
                part.name,
                with_article(part.kind.word())
            ),
        );
        return Some(problem.related(base.place, format!("the part `{name}`")));
    }
    let third = base.of.as_ref()?;
    if is_of_each_other(base, part) {
        let message = format!("part `{name}` is of `{third}` in turn, so that each is of the other");
        let problem = Problem::new(ProblemId::PartChain, range, message);
        return Some(
            problem
                .related(base.place, format!("the part `{name}`"))
                .help("delete one of the two, with its colon"),
        );
    }
    let problem = Problem::new(
        ProblemId::PartChain,
        range,
        format!("part `{name}` is of part `{third}` itself, and a part is of one other part at most"),
    );
    Some(problem.related(base.place, format!("the part `{name}`")).help(format!(
        "write what `{name}` says into part `{}`, and let that be of `{third}`",
        part.name
    )))
}
