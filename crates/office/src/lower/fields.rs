//! Reads the fields of a thing, part, group or named field.

use std::collections::hash_map::Entry;
use std::fmt;
use std::hash::BuildHasher;

use drysheath_engineering::standard::NamedStandardConditions;
use drysheath_syntax::{self as syntax, Block, Fix, TokenKind, TokenSpan, Tree};
use drysheath_text::{FileId, Place, TextRange};
use rustc_hash::{FxBuildHasher, FxHashMap};
use strum::VariantArray;

use super::annotations::Annotations;
use super::outdated::{renamed, single_number};
use super::reader::{Context, Read, Reader, VALUE};
use super::sections::volume_beyond_length;
use super::shapes::is_deadband_elsewhere;
use super::signals::fineness_beyond_span;
use crate::kinds::{FieldSpec, Key, Shape, Successor, field};
use crate::numbers::{in_row, numbers_written};
use crate::problem::{Problem, ProblemId};
use crate::spelling::nearest;
use crate::value::{Field, Fields, LimitLevel, LinkMedium, Value};

/// The owner of a block of fields, for messages.
#[derive(Clone, Copy)]
pub(super) struct Owner<'o> {
    pub word: &'static str,
    pub name: Option<&'o str>,
}

impl fmt::Display for Owner<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.name {
            Some(name) => write!(f, "{} `{name}`", self.word),
            None => write!(f, "this {}", self.word),
        }
    }
}

pub(super) struct FieldReader<'r> {
    pub file: FileId,
    /// Conditions that standard volumes refer to.
    pub standard: &'static NamedStandardConditions,
    pub text: &'r str,
    pub tree: &'r Tree,
    pub problems: &'r mut Vec<Problem>,
    /// Set once something could not be understood.
    pub damaged: bool,
    /// Number of open blocks.
    pub depth: u32,
    pub slots: Slots,
    /// Records the meaning of each token, if the caller needs it.
    pub annotations: Option<&'r Annotations<'r>>,
}

impl<'r> FieldReader<'r> {
    fn problem(&mut self, problem: Problem) {
        self.damaged = true;
        self.problems.push(problem);
    }

    /// Reads the fields of `block`; `specs` lists those allowed. `owner` is the owner of the block.
    pub(super) fn block(&mut self, block: &Block, specs: &'static [FieldSpec], owner: Owner<'_>) -> Vec<Field> {
        let mut fields: Vec<Field> = Vec::with_capacity(block.fields.len());
        self.depth += 1;
        for written in &block.fields {
            self.damaged |= written.damaged;
            let name = self.tree.range(written.name);
            match field(specs, name.of(self.text)) {
                // Nothing is concluded from it, but its words still have a meaning.
                Some(spec) if written.damaged && self.annotations.is_none() => {
                    let place = Place {
                        file: self.file,
                        range: name,
                    };
                    fields.push(Field {
                        spec,
                        place,
                        value: Value::Unreadable,
                    });
                }
                Some(spec) => {
                    let spec = self.of_today(spec, specs, name);
                    self.field(written, spec, specs, &mut fields);
                }
                None => {
                    let reader = self.reader(written.items, name);
                    reader.annotate_rest(None, "");
                    if !written.damaged && !self.is_deadband(name, fields.last()) {
                        let is_text = matches!(self.tree.items(written.items), [only] if only.kind == TokenKind::Text);
                        self.unknown(name, specs, owner, is_text && written.block.is_none());
                    }
                }
            }
        }
        self.slots.leave(self.depth);
        self.depth -= 1;
        if let Some(problem) = fineness_beyond_span(&mut fields) {
            self.problem(problem);
        }
        fields
    }

    /// The present field that replaces `spec`. An outdated word is reported.
    fn of_today(
        &mut self,
        spec: &'static FieldSpec,
        specs: &'static [FieldSpec],
        name: TextRange,
    ) -> &'static FieldSpec {
        let Some(Successor::Field(key)) = spec.gone.map(|gone| gone.successor) else {
            return spec;
        };
        let Some(now) = specs.iter().find(|now| now.key == key) else {
            return spec;
        };
        self.problems.push(renamed(spec.word(), now.word(), name));
        now
    }

    fn reader(&self, items: TokenSpan, before: TextRange) -> Reader<'r> {
        Reader::new(self.text, self.tree.items(items), before, self.standard).annotating(self.annotations)
    }

    /// Whether an unknown field is the deadband of the limit before it, after a surplus comma.
    fn is_deadband(&mut self, name: TextRange, before: Option<&Field>) -> bool {
        let limit = before.filter(|before| matches!(before.spec.shape, Shape::Limit(_)));
        let written = name.of(self.text);
        let is_meant = written == "deadband" || is_deadband_elsewhere(written);
        let Some(limit) = limit.filter(|_| is_meant) else {
            return false;
        };
        let gap = TextRange::new(limit.place.range.end, name.start);
        // An unreadable limit is already reported.
        if limit.value.is_unreadable() {
            return true;
        }
        if written == "deadband" {
            self.problem(
                Problem::new(VALUE, name, "`deadband` belongs to the limit before it")
                    .help("delete the comma between the two")
                    .fix(Fix::replace(gap, " ", "Delete the comma")),
            );
        } else {
            let whole = TextRange::new(gap.start, name.end);
            self.problem(
                Problem::new(
                    VALUE,
                    name,
                    format!("a limit calls `{written}` its `deadband`, and says it itself"),
                )
                .help("write `deadband` right after the severity, without a comma before it")
                .fix(Fix::replace(whole, " deadband", "Write `deadband`")),
            );
        }
        true
    }

    /// Reports an unknown field. `is_text` is true if it is followed by nothing but a text.
    fn unknown(&mut self, name: TextRange, specs: &[FieldSpec], owner: Owner<'_>, is_text: bool) {
        let written = name.of(self.text);
        let has_records = field(specs, Key::Record.word()).is_some();
        let specs = specs.iter().filter(|spec| spec.gone.is_none());
        let words = specs.clone().map(FieldSpec::word);
        let values: Vec<_> = specs
            .filter(|spec| spec.shape.begins_with(written))
            .map(FieldSpec::word)
            .collect();
        if let [first, ..] = values.as_slice() {
            let problem = Problem::new(
                ProblemId::FieldUnknown,
                name,
                format!("the name of a field is missing before `{written}`"),
            );
            self.problem(problem.help(format!("`{first} {written}`, for example")));
            return;
        }
        let problem = Problem::new(
            ProblemId::FieldUnknown,
            name,
            format!("{owner} has no field `{written}`"),
        );
        let problem = match nearest(written, words.clone()) {
            Some(near) => problem.meant(near),
            None if is_text && has_records => problem
                .help(format!(
                    "what a repository keeps of a thing for itself is a record: write `record {written} \"…\"`"
                ))
                .fix(Fix::replace(TextRange::empty(name.start), "record ", "Insert `record`")),
            None => problem.help(format!("its fields are {}", words.collect::<Vec<_>>().join(", "))),
        };
        self.problem(problem);
    }

    fn field(
        &mut self,
        written: &syntax::Field,
        spec: &'static FieldSpec,
        specs: &'static [FieldSpec],
        fields: &mut Vec<Field>,
    ) {
        let (tree, text) = (self.tree, self.text);
        let name = tree.range(written.name);
        let mut reader = self.reader(written.items, name);
        if let Some(annotations) = self.annotations {
            annotations.set(name, annotations.field(spec));
        }
        if let Shape::Group(inner) | Shape::Named(inner) = spec.shape {
            let value = self.inner_block(written, spec, inner, &mut reader);
            let end = tree.items_range(written.items).cover(name);
            self.push(fields, spec, end, value);
            return;
        }
        let mut spec = spec;
        let mut start = name;
        loop {
            let value = match self.value(&mut reader, spec, specs) {
                Ok(value) => value,
                Err(problem) => {
                    // After a missing comma a second mistake is probably a consequence.
                    if start == name {
                        self.problem(*problem);
                    }
                    Value::Unreadable
                }
            };
            // The remaining tokens may belong to the value, which then would be another.
            let problem = if value.is_unreadable() || reader.rest().is_none() {
                None
            } else {
                left_over(&reader, text, spec, specs)
            };
            let value = if problem.is_some() { Value::Unreadable } else { value };
            let unreadable = value.is_unreadable();
            if let (Value::Numbers(from, to), None) = (&value, spec.gone)
                && from == to
                && in_row(*from) == *from
                && !start.cover(reader.last()).of(text).contains("..")
            {
                self.problems.push(single_number(spec.word(), *from, reader.last()));
            }
            self.push(fields, spec, start.cover(reader.last()), value);
            if let Some(problem) = problem {
                self.problem(problem);
            }
            if unreadable {
                reader.annotate_rest(Some(spec.shape), spec.doc);
                // Fields hidden by a missing comma count as present.
                while let Some(token) = reader.next() {
                    // In a loss, `at` precedes its flow.
                    let is_its_own = |found: &&FieldSpec| spec.shape.is_loss() && found.key == Key::At;
                    let hidden = field(specs, token.range.of(text)).filter(|found| !is_its_own(found));
                    if let Some(spec) = hidden.filter(|_| token.kind.is_word()) {
                        self.may_be(fields, spec, token.range);
                    }
                }
                break;
            }
            let after = reader.last();
            let Some(next) = field(specs, reader.peek_text()) else {
                break;
            };
            let at = TextRange::empty(after.end);
            start = reader.next().map_or(start, |token| token.range);
            let next = self.of_today(next, specs, start);
            reader.annotate_field(next);
            self.problem(
                Problem::new(
                    VALUE,
                    start,
                    format!("a comma is missing before the field `{}`", next.word()),
                )
                .fix(Fix::replace(at, ",", "Insert a comma")),
            );
            spec = next;
            if let Shape::Group(inner) | Shape::Named(inner) = spec.shape {
                let value = self.inner_block(written, spec, inner, &mut reader);
                self.push(fields, spec, start, value);
                return;
            }
        }
        if fields.last().is_some_and(|last| last.value.is_unreadable()) {
            return;
        }
        if let Some(block) = &written.block {
            let brace = tree.range(block.open);
            self.problem(
                Problem::new(VALUE, brace, format!("`{}` has no fields of its own", spec.word()))
                    .help("if this block is another field's, the name of that field is missing before it"),
            );
        }
    }

    /// Reads the value of a field. If the name of the field is repeated, that is reported and the value follows the
    /// repetition.
    fn value(&mut self, reader: &mut Reader<'_>, spec: &'static FieldSpec, specs: &'static [FieldSpec]) -> Read<Value> {
        let context = context(spec, specs);
        let mut rest = reader.clone();
        let read = reader.shape(spec.shape, context);
        let Some(again) = read.as_ref().err().and_then(|_| rest.again()) else {
            return read;
        };
        self.problem(*again);
        rest.next();
        *reader = rest;
        // Its own mistake is reported once the repeated word is removed.
        Ok(reader.shape(spec.shape, context).unwrap_or(Value::Unreadable))
    }

    /// Reports a repeated word and skips it.
    fn skip_again(&mut self, reader: &mut Reader<'_>) {
        if let Some(again) = reader.again() {
            self.problem(*again);
            reader.next();
        }
    }

    /// Adds a field that unreadable text may contain.
    fn may_be(&self, fields: &mut Vec<Field>, spec: &'static FieldSpec, range: TextRange) {
        let place = Place { file: self.file, range };
        if !fields.has(spec.key) {
            fields.push(Field {
                spec,
                place,
                value: Value::Unreadable,
            });
        }
    }

    fn inner_block(
        &mut self,
        written: &syntax::Field,
        spec: &'static FieldSpec,
        inner: &'static [FieldSpec],
        reader: &mut Reader<'_>,
    ) -> Value {
        let named = match self.inner_name(written, spec, reader) {
            Ok(named) => named,
            Err(problem) => {
                self.problem(*problem);
                // Nothing is concluded from the block, but its words still have a meaning.
                if let Some(block) = written.block.as_ref().filter(|_| self.annotations.is_some()) {
                    self.block(
                        block,
                        inner,
                        Owner {
                            word: spec.word(),
                            name: None,
                        },
                    );
                }
                return Value::Unreadable;
            }
        };
        let Some(block) = &written.block else {
            let name = self.tree.range(written.name);
            self.problem(*lacks(spec, name));
            return Value::Unreadable;
        };
        let owner = Owner {
            word: spec.word(),
            name: named.map(|(own, _)| own),
        };
        let mut fields = self.block(block, inner, owner);
        if spec.key == Key::Section
            && let Some(problem) = volume_beyond_length(&mut fields)
        {
            self.problem(problem);
        }
        match named {
            Some((own, range)) => Value::Named {
                name: own.into(),
                place: Place { file: self.file, range },
                fields,
            },
            None => Value::Group(fields),
        }
    }

    /// Reads what precedes a field's own block: the name of a named field, nothing otherwise.
    fn inner_name<'t>(
        &mut self,
        written: &syntax::Field,
        spec: &'static FieldSpec,
        reader: &mut Reader<'t>,
    ) -> Read<Option<(&'t str, TextRange)>> {
        let is_named = matches!(spec.shape, Shape::Named(_));
        // In `section section s1 { … }` the second word is not a name.
        if is_named && reader.left() > 1 {
            self.skip_again(reader);
        }
        let named = is_named.then(|| reader.word()).flatten();
        if is_named && named.is_none() {
            return Err(lacks(spec, self.tree.range(written.name)));
        }
        if named.is_some() {
            reader.annotate_declared(spec.key, self.depth > 1);
        }
        self.skip_again(reader);
        match reader.rest() {
            Some(rest) => Err(Box::new(adds_nothing(rest.of(self.text), rest, spec))),
            None => Ok(named),
        }
    }

    fn push(&mut self, fields: &mut Vec<Field>, spec: &'static FieldSpec, range: TextRange, value: Value) {
        let new = Field {
            spec,
            place: Place { file: self.file, range },
            value,
        };
        match self.slots.taken(self.depth, fields, &new) {
            // Its own problem is enough.
            Some(_) if new.value.is_unreadable() => {}
            Some(first) => {
                let (message, help) = match numbers_in_both(first, &new) {
                    Some(both) => (
                        format!("{both} in two ranges of {}", slot_name(&new)),
                        "let one range end before the other begins",
                    ),
                    None => (format!("{} is given twice", slot_name(&new)), "keep one of them"),
                };
                let first = first.place;
                self.problem(
                    Problem::new(ProblemId::FieldTwice, range, message)
                        .related(first, format!("the first {}", slot_name(&new)))
                        .help(help),
                );
            }
            None => fields.push(new),
        }
    }
}

impl Shape {
    /// Whether a word belongs to the syntax of the value, so that it is not a replacement for the field's name.
    fn begins_with(self, word: &str) -> bool {
        match self {
            Self::YesNo => matches!(word, "yes" | "no"),
            Self::Choice(choices) => choices.iter().any(|choice| choice.word() == word),
            Self::Limit(_) => LimitLevel::VARIANTS.iter().any(|level| level.word() == word),
            Self::Link => LinkMedium::find(word).is_some(),
            _ => false,
        }
    }
}

fn context(spec: &'static FieldSpec, specs: &'static [FieldSpec]) -> Context<'static> {
    Context {
        siblings: specs,
        doc: spec.doc,
        domain: spec.domain(),
        ..Context::of(spec.word())
    }
}

/// The problem with the tokens after a field's value. `None` where they start another field.
fn left_over(reader: &Reader<'_>, text: &str, spec: &FieldSpec, specs: &[FieldSpec]) -> Option<Problem> {
    let rest = reader.rest()?;
    if let Some(again) = reader.again() {
        return Some(*again);
    }
    let next = reader.peek()?;
    if next.kind.is_word() && field(specs, next.range.of(text)).is_some() {
        return None;
    }
    let written = rest.of(text);
    if matches!(spec.shape, Shape::Limit(_)) && is_deadband_elsewhere(next.range.of(text)) {
        return Some(deadband_elsewhere(next.range, text));
    }
    if matches!(spec.shape, Shape::Limit(_)) && next.kind == TokenKind::Number {
        let at = TextRange::empty(reader.last().end);
        let problem = Problem::new(VALUE, rest, format!("`deadband` is missing before `{written}`"));
        return Some(problem.fix(Fix::replace(at, " deadband", "Insert `deadband`")));
    }
    Some(adds_nothing(written, rest, spec))
}

/// A catalogue's word for the deadband of a limit.
fn deadband_elsewhere(word: TextRange, text: &str) -> Problem {
    let message = format!("a limit calls `{}` its `deadband`", word.of(text));
    Problem::new(VALUE, word, message)
        .help(
            "write `deadband` and how far the reading must come back before the alarm clears, as in `deadband 0.3 psi`",
        )
        .fix(Fix::replace(word, "deadband", "Write `deadband`"))
}

fn adds_nothing(written: &str, range: TextRange, spec: &FieldSpec) -> Problem {
    let message = format!("`{written}` has no meaning after the value of `{}`", spec.word());
    Problem::new(VALUE, range, message)
}

/// A group or named field without its name or block.
fn lacks(spec: &FieldSpec, name: TextRange) -> Box<Problem> {
    let message = format!("`{}` expects {}", spec.word(), spec.shape.wanted());
    Box::new(Problem::new(VALUE, name, message))
}

/// Index of named fields by block depth and name, for blocks with too many fields for a linear search.
#[derive(Default)]
pub(super) struct Slots(FxHashMap<u32, FxHashMap<u64, usize>>);

impl Slots {
    /// Up to this number, fields are searched linearly.
    const FEW: usize = 64;

    /// The field of `fields`, those so far of the block at `depth`, that conflicts with a new one.
    fn taken<'f>(&mut self, depth: u32, fields: &'f [Field], new: &Field) -> Option<&'f Field> {
        let same = |field: &&Field| same_slot(field, new);
        let Some(name) = name_hash(new).filter(|_| fields.len() >= Self::FEW) else {
            return fields.iter().find(same);
        };
        let names = self.0.entry(depth).or_insert_with(|| {
            let named = fields.iter().enumerate();
            let named = named.filter_map(|(at, field)| Some((name_hash(field)?, at)));
            // Of two with the same hash, the first.
            named.rev().collect()
        });
        match names.entry(name) {
            Entry::Vacant(free) => {
                free.insert(fields.len());
                None
            }
            Entry::Occupied(at) => {
                let field = fields.get(*at.get()).filter(same);
                field.or_else(|| fields.iter().find(same))
            }
        }
    }

    /// Drops the block at a depth.
    fn leave(&mut self, depth: u32) {
        self.0.remove(&depth);
    }
}

/// A hash of the name that identifies a field. `None` for other fields.
fn name_hash(field: &Field) -> Option<u64> {
    let name = match &field.value {
        Value::Record(record) => &record.name,
        Value::FormerName(name) | Value::Named { name, .. } => name,
        _ => return None,
    };
    Some(FxBuildHasher.hash_one((field.spec.key, name)))
}

/// Whether two fields state the same thing, so that only one of them can apply.
pub(super) fn same_slot(one: &Field, other: &Field) -> bool {
    if one.spec.key != other.spec.key {
        return false;
    }
    match (&one.value, &other.value) {
        (Value::Limit(one), Value::Limit(other)) => one.level == other.level,
        (Value::Record(one), Value::Record(other)) => one.name == other.name,
        (Value::FormerName(one), Value::FormerName(other))
        | (Value::Named { name: one, .. }, Value::Named { name: other, .. }) => one == other,
        (Value::Loss(one), Value::Loss(other)) => one.flow == other.flow,
        (Value::PairColours(one, _), Value::PairColours(other, _)) => one == other,
        (Value::Link { over: one, .. }, Value::Link { over: other, .. }) => one == other,
        (Value::Numbers(from, to), Value::Numbers(other_from, other_to)) if one.spec.shape.has_rows() => {
            from <= other_to && other_from <= to
        }
        // A count covers all rows.
        (Value::Count(_), _) | (_, Value::Count(_)) => true,
        _ => !one.spec.shape.repeats(),
    }
}

/// The numbers that two ranges of a field have in common, with the verb for them. `None` where the ranges are equal.
fn numbers_in_both(one: &Field, other: &Field) -> Option<String> {
    let (Value::Numbers(from, to), Value::Numbers(other_from, other_to)) = (&one.value, &other.value) else {
        return None;
    };
    let (first, last) = (*from.max(other_from), *to.min(other_to));
    let verb = if first == last { "is" } else { "are" };
    ((from, to) != (other_from, other_to) && first <= last).then(|| format!("{} {verb}", numbers_written(first, last)))
}

fn slot_name(field: &Field) -> String {
    let word = field.spec.word();
    match &field.value {
        Value::Limit(limit) => format!("`{word} {}`", limit.level.word()),
        Value::Named { name, .. } | Value::FormerName(name) => format!("`{word} {name}`"),
        Value::Record(recorded) => format!("`{word} {}`", recorded.name),
        Value::Loss(loss) => format!("`{word}` at {}", loss.flow),
        Value::PairColours(pair, _) => format!("`{word} {pair}`"),
        Value::Link { over, .. } => format!("`{word} {}`", over.word()),
        _ => format!("`{word}`"),
    }
}
