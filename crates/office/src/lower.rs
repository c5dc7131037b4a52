//! From statements to an office. This never fails: what cannot be understood is among the office's problems.

mod acceptances;
mod attributes;
mod candidates;
mod end_problems;
mod ends;
mod fields;
mod missing;
mod notes;
mod noting;
mod places;
mod quantities;
mod reader;
mod readings;
mod shapes;
mod tokens;
mod uses;

use std::collections::BTreeSet;
use std::sync::Arc;

use drysheath_syntax::{self as syntax, Medium, Statement, StatementKind, TokenKind, Tree, Word};
use drysheath_text::{FileId, TextRange};
use rustc_hash::{FxHashMap, FxHashSet};

use self::ends::{EndReader, Position};
use self::fields::{FieldReader, Owner, same_slot};
use self::uses::Reach;
use crate::kinds::{KINDS, Kind, KindId};
use crate::model::{End, Office, Run, Spanned, SpareRange, Thing, ThingId};
use crate::parts::{Library, Part};
use crate::problem::{Problem, ProblemId};
use crate::spelling::nearest;
use crate::unsure::{Media, Unsure};
use crate::value::Field;

pub use candidates::Candidate;
pub(crate) use ends::bare_port;
pub use quantities::quantity;

/// What the file `file` at `path` says. `path` counts from the repository's root and has no extension.
pub fn lower(file: FileId, path: &str, text: Arc<str>, tree: &Tree, library: &dyn Library) -> Office {
    let source = Arc::clone(&text);
    let mut office = Office {
        file,
        text,
        things: Vec::with_capacity(tree.statements.len()),
        names: FxHashMap::default(),
        itself: None,
        runs: Vec::new(),
        spares: Vec::new(),
        acceptances: Vec::new(),
        readings: Vec::new(),
        lost_acceptances: Vec::new(),
        parts: Vec::new(),
        uses: Vec::new(),
        taken: Vec::new(),
        problems: tree.problems.iter().cloned().map(syntax::Problem::into_id).collect(),
        unsure: Unsure {
            things: tree.statements.is_empty() && !tree.problems.is_empty(),
            ..Unsure::default()
        },
    };
    if tree.cut {
        office.unsure.doubt_everything();
    }
    let mut lowering = Lowering {
        text: &source,
        tree,
        office: &mut office,
        may_be_names: Vec::new(),
        no_things: BTreeSet::new(),
    };
    lowering.uses();
    let reach = Reach::new(path, &lowering.office.uses, library, &mut lowering.office.problems);
    lowering.parts(&reach);
    lowering.things(&reach);
    lowering.places();
    lowering.runs();
    lowering.rest();
    lowering.missing_fields();
    drop_consequences(&mut office.problems);
    office.problems.sort_by_key(|problem| (problem.range, problem.id));
    office
}

/// A number that is too long to be read has no value either: that is one slip.
fn drop_consequences(problems: &mut Vec<Problem>) {
    const TOO_LONG: ProblemId = ProblemId::NumberTooLong;
    let too_long = problems.iter().filter(|problem| problem.id == TOO_LONG);
    let ranges: FxHashSet<TextRange> = too_long.map(|problem| problem.range).collect();
    if !ranges.is_empty() {
        problems.retain(|problem| problem.id == TOO_LONG || !ranges.contains(&problem.range));
    }
}

struct Lowering<'r> {
    text: &'r str,
    tree: &'r Tree,
    office: &'r mut Office,
    /// Words that may be names of things whose head could not be read.
    may_be_names: Vec<(&'r str, ThingId)>,
    /// Names of things that are meant as parts.
    no_things: BTreeSet<Box<str>>,
}

impl<'r> Lowering<'r> {
    fn word(&self, word: Word) -> &'r str {
        self.tree.range(word).of(self.text)
    }

    fn end_reader(&self) -> EndReader<'_> {
        EndReader::new(self.office, None)
    }

    fn uses(&mut self) {
        for statement in &self.tree.statements {
            if let StatementKind::Use(used) = &statement.kind
                && let Some(path) = used.path.filter(|_| !statement.damaged)
            {
                let range = self.tree.range(path);
                self.office.uses.push(Spanned {
                    value: range.of(self.text).into(),
                    range,
                });
            }
        }
    }

    /// Whether a `use` could not be read, so that any part may have been within reach.
    fn lost_use(&self) -> bool {
        self.tree.statements.iter().any(|statement| match &statement.kind {
            StatementKind::Unreadable => true,
            StatementKind::Use(_) => statement.damaged,
            StatementKind::Thing(thing) => thing.kind.map(|kind| self.word(kind)).is_none_or(|kind| {
                let is_kind = Kind::find(kind).is_some();
                let says_use = thing.name.is_some_and(|name| self.word(name) == "use");
                (says_use && !is_kind) || statement.damaged && (!is_kind || self.joins_another(statement))
            }),
            _ => false,
        })
    }

    /// Whether a damaged thing has swallowed the statement after it, for lack of a line end between them.
    fn joins_another(&self, statement: &Statement) -> bool {
        let items = self.tree.items(&statement.items);
        let mut head = (0..)
            .zip(items)
            .take_while(|(_, token)| token.kind != TokenKind::OpenBrace);
        statement.damaged
            && head.any(|(at, token)| match at {
                0 => false,
                1 => token.kind.starts_statement(),
                _ => token.kind.starts_statement() || Kind::find(token.range.of(self.text)).is_some(),
            })
    }

    fn kind(&mut self, thing: &syntax::Thing, damaged: bool) -> Option<&'static Kind> {
        let word = thing.kind?;
        let written = self.word(word);
        let kind = Kind::find(written);
        if kind.is_none() && !damaged {
            let range = self.tree.range(word);
            let words = KINDS.iter().map(|kind| kind.word());
            let problem = Problem::new(
                ProblemId::KindUnknown,
                range,
                format!("`{written}` is no kind of thing"),
            );
            self.office.problems.push(match nearest(written, words.clone()) {
                Some(near) => problem.meant(near),
                None => problem.help(format!("the kinds are {}", words.collect::<Vec<_>>().join(", "))),
            });
        }
        kind
    }

    fn own_fields(
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
        let mut reader = FieldReader {
            file: self.office.file,
            text: self.text,
            tree: self.tree,
            problems: &mut self.office.problems,
            damaged: statement.damaged,
            depth: 0,
            notes: None,
        };
        let owner = Owner {
            word: kind.word(),
            name: thing.name.map(|name| self.tree.range(name).of(self.text)),
        };
        let fields = reader.block(block, kind.fields, owner);
        (fields, reader.damaged)
    }

    fn parts(&mut self, reach: &Reach) {
        for statement in &self.tree.statements {
            let StatementKind::Part(thing) = &statement.kind else {
                continue;
            };
            let kind = self.kind(thing, statement.damaged);
            let (fields, damaged) = self.own_fields(thing, kind, statement);
            let (Some(kind), Some(name)) = (kind, thing.name) else {
                self.office.unsure.names = true;
                continue;
            };
            if let Some(part) = thing.part {
                self.office.problems.push(
                    Problem::new(
                        ProblemId::ValueUnreadable,
                        self.tree.range(part),
                        "a part is described by its own fields, not by another part",
                    )
                    .help("write the fields here"),
                );
            }
            let range = self.tree.range(name);
            let name: Box<str> = range.of(self.text).into();
            let earlier = self
                .office
                .parts
                .iter()
                .find(|part| part.name == name)
                .map(|part| part.place);
            let earlier = earlier.or_else(|| reach.part(&name).map(|part| part.place));
            if let Some(earlier) = earlier {
                self.office.problems.push(
                    Problem::new(
                        ProblemId::NameTwice,
                        range,
                        format!("a part named `{name}` is declared already"),
                    )
                    .related(earlier, "declared here")
                    .help("rename one of the two"),
                );
                continue;
            }
            let place = self.office.place(range);
            self.office.parts.push(Arc::new(Part {
                kind,
                name,
                place,
                fields,
                damaged,
            }));
        }
    }

    fn things(&mut self, reach: &Reach) {
        let parts_unsure = reach.unsure || self.lost_use() || self.office.unsure.names;
        // A statement that nests too deep is not among the statements at all.
        if self
            .tree
            .problems
            .iter()
            .any(|problem| problem.id == syntax::ProblemId::NestingTooDeep)
        {
            self.office.unsure.doubt_everything();
        }
        for statement in &self.tree.statements {
            match &statement.kind {
                StatementKind::Thing(thing) => self.thing(thing, statement, reach, parts_unsure),
                StatementKind::Unreadable => self.office.unsure.doubt_everything(),
                StatementKind::Run(run) if statement.damaged => self.office.unsure.runs.insert(run.medium),
                _ => {}
            }
        }
        for name in &self.no_things {
            if let Some(id) = self.office.named(name) {
                self.office.thing_mut(id).damaged = true;
            }
        }
        // Nothing stands anywhere in a file without an office, so that nothing is missing from it but the office.
        if self.office.itself.is_none() {
            self.office.unsure.runs = Media::ALL;
        }
        for (name, id) in std::mem::take(&mut self.may_be_names) {
            self.office.names.entry(name.into()).or_insert(id);
        }
    }

    fn thing(&mut self, thing: &syntax::Thing, statement: &Statement, reach: &Reach, parts_unsure: bool) {
        let kind = self.kind(thing, statement.damaged);
        let (fields, mut damaged) = self.own_fields(thing, kind, statement);
        let name = thing
            .name
            .map_or(TextRange::empty(statement.range.start), |name| self.tree.range(name));
        if statement.damaged || kind.is_none() {
            self.doubtful_thing(statement, kind.is_some() && thing.name.is_some());
        }
        let mut lowered = Thing {
            kind,
            name,
            range: statement.range,
            part: None,
            fields,
            damaged,
        };
        if let Some(part) = thing.part {
            damaged |= !self.take_part(&mut lowered, self.tree.range(part), reach, parts_unsure);
        }
        let id = ThingId(self.office.things.len() as u32);
        let is_thing = !statement.damaged || kind.is_some();
        if !name.is_empty() && is_thing && !self.declare(id, name, kind) {
            // Runs lead to the first thing of that name, and another name may be lacking for it.
            damaged = true;
            self.office.unsure.names = true;
        }
        lowered.damaged = damaged;
        self.office.things.push(lowered);
        if statement.damaged && is_thing && !self.joins_another(statement) {
            self.other_names(id, statement);
        }
    }

    /// In a head with a word too many any of the words may be the name, and runs that use it are right.
    fn other_names(&mut self, id: ThingId, statement: &Statement) {
        let items = self.tree.items(&statement.items);
        let head = items.iter().take_while(|token| token.kind.is_word()).skip(1);
        self.may_be_names
            .extend(head.map(|token| (token.range.of(self.text), id)));
    }

    /// What a damaged declaration may have said.
    fn doubtful_thing(&mut self, statement: &Statement, declared: bool) {
        if !declared {
            self.office.unsure.things = true;
            self.office.unsure.names = true;
        }
        // Its words may be names of other things: a run that lost its first word reads like this.
        let items = self.tree.items(&statement.items);
        if items.iter().any(|token| token.kind == TokenKind::Arrow) {
            self.office.unsure.runs = Media::ALL;
        }
        let words = items.iter().filter(|token| token.kind == TokenKind::Word);
        self.office
            .taken
            .extend(words.map(|token| token.range.of(self.text).into()));
    }

    /// Makes a thing known by its name. Says whether the name was free.
    fn declare(&mut self, id: ThingId, name: TextRange, kind: Option<&'static Kind>) -> bool {
        if kind.is_some_and(|kind| kind.id == KindId::Office) {
            match self.office.itself.map(|first| self.office.thing(first).name) {
                None => self.office.itself = Some(id),
                Some(first) => {
                    let first = self.office.place(first);
                    self.office.problems.push(
                        Problem::new(
                            ProblemId::OfficeRepeated,
                            name,
                            "a file describes one office, and this is the second",
                        )
                        .related(first, "the first")
                        .help("give each office a file of its own"),
                    );
                    return false;
                }
            }
        }
        let written = name.of(self.text);
        let Some(first) = self.office.named(written) else {
            self.office.names.insert(written.into(), id);
            return true;
        };
        let first = self.office.place(self.office.thing(first).name);
        self.office.problems.push(
            Problem::new(
                ProblemId::NameTwice,
                name,
                format!("the name `{written}` is taken already"),
            )
            .related(first, "taken here")
            .help("rename one of the two: a name means one thing in an office"),
        );
        false
    }

    /// Gives a thing the fields of its part. Says whether that went well.
    fn take_part(&mut self, thing: &mut Thing, range: TextRange, reach: &Reach, parts_unsure: bool) -> bool {
        let name = range.of(self.text);
        if !self.office.taken.iter().any(|taken| **taken == *name) {
            self.office.taken.push(name.into());
        }
        let local = self.office.parts.iter().find(|part| *part.name == *name).cloned();
        let Some(part) = local.or_else(|| reach.part(name)) else {
            if !parts_unsure && !self.meant_as_part(name, range) {
                let problem = reach.unknown(name, range, &self.office.parts);
                self.office.problems.push(problem);
            }
            return false;
        };
        if let Some(kind) = thing.kind.filter(|kind| kind.id != part.kind.id) {
            let problem = Problem::new(
                ProblemId::PartWrongKind,
                range,
                format!(
                    "`{name}` describes a {}, and this is a {}",
                    part.kind.word(),
                    kind.word()
                ),
            );
            self.office.problems.push(problem.related(part.place, "the part"));
            return false;
        }
        let given: Vec<_> = part
            .fields
            .iter()
            .filter(|given| !thing.fields.iter().any(|own| same_slot(own, given)))
            .cloned()
            .collect();
        thing.fields.extend(given);
        thing.part = Some(Arc::clone(&part));
        !part.damaged
    }

    /// Whether a part that is not found is declared as a thing, its first word forgotten. That is one result however
    /// often the part is taken, and what such a thing lacks proves nothing.
    fn meant_as_part(&mut self, name: &str, taken: TextRange) -> bool {
        let declared = self.tree.statements.iter().find_map(|statement| match &statement.kind {
            StatementKind::Thing(thing) if thing.name.is_some_and(|own| self.word(own) == name) => thing.kind,
            _ => None,
        });
        let Some(kind) = declared.map(|kind| self.tree.range(kind)) else {
            return false;
        };
        if self.no_things.insert(name.into()) {
            let fix = syntax::Fix::replace(TextRange::empty(kind.start), "part ", "Put `part` here");
            let message = format!("`part` is missing before this: `{name}` is taken as a part");
            let problem = Problem::new(ProblemId::PartUnknown, kind, message);
            self.office
                .problems
                .push(problem.related(self.office.place(taken), "taken here").fix(fix));
        }
        true
    }

    /// Whether another statement may be lost in this one, for lack of a line end between them.
    fn swallows(&self, statement: &Statement) -> bool {
        let mut rest = self.tree.items(&statement.items).iter().skip(1);
        rest.any(|token| token.kind.starts_statement())
    }

    fn runs(&mut self) {
        let mut runs = Vec::new();
        let mut problems = Vec::new();
        let mut swallowed = false;
        let reader = self.end_reader();
        for statement in &self.tree.statements {
            let StatementKind::Run(written) = &statement.kind else {
                continue;
            };
            let count = written.ends.len();
            let mut sound = !statement.damaged;
            // One slip in a run makes one result: what follows it may be a consequence.
            let mut reported = statement.damaged;
            let mut ends = Vec::with_capacity(written.ends.len());
            for (at, end) in written.ends.iter().enumerate() {
                let read = reader.end(self.tree, written.medium, end, Position::of(at, count));
                sound &= read.sound;
                problems.extend(
                    read.problem
                        .filter(|_| !reported)
                        .map(|problem| *problem)
                        .inspect(|_| reported = true),
                );
                ends.push(read.end);
            }
            let mut of_with = Vec::new();
            let with = reader.attributes(self.tree, written.medium, &written.with, &mut of_with);
            if !reported {
                problems.append(&mut of_with);
            }
            swallowed |= (!sound || with.damaged) && self.swallows(statement);
            if ends.len() < 2 {
                sound = false;
                if !reported {
                    problems.push(one_end(&ends, statement.range));
                }
            }
            runs.push(Run {
                medium: written.medium,
                ends,
                with,
                range: statement.range,
                damaged: !sound,
            });
        }
        for run in runs.iter().filter(|run| run.damaged) {
            self.office.unsure.runs.insert(run.medium);
        }
        if swallowed {
            self.office.unsure.doubt_everything();
        }
        self.office.runs = runs;
        self.office.problems.extend(problems);
    }

    /// What is spare, what is accepted and what was read.
    fn rest(&mut self) {
        let mut problems = Vec::new();
        let mut spares = Vec::new();
        let mut readings = Vec::new();
        let mut lost_spare = false;
        let mut swallowed = false;
        for statement in &self.tree.statements {
            match &statement.kind {
                StatementKind::Spare(written) => {
                    let read = self.end_reader().spare(self.tree, written);
                    lost_spare |= statement.damaged || !read.sound;
                    swallowed |= !read.sound && self.swallows(statement);
                    problems.extend(read.problem.map(|problem| *problem));
                    if read.sound {
                        spares.push(SpareRange {
                            end: read.end,
                            range: statement.range,
                        });
                    }
                }
                StatementKind::Accept(written) if !statement.damaged => match self.acceptance(written, statement.range)
                {
                    Ok(acceptance) => self.office.acceptances.push(acceptance),
                    Err(problem) => {
                        problems.extend(problem.map(|problem| *problem));
                        self.office.lost_acceptances.push(statement.range);
                    }
                },
                StatementKind::Reading(written) if !statement.damaged => match self.reading(written, statement.range) {
                    Ok(reading) => readings.extend(reading),
                    Err(problem) => problems.push(*problem),
                },
                _ if statement.damaged && self.may_accept(statement) => {
                    self.office.lost_acceptances.push(statement.range);
                }
                _ => {}
            }
        }
        if swallowed {
            self.office.unsure.doubt_everything();
        }
        if lost_spare {
            for medium in [Medium::Air, Medium::Wire, Medium::Power] {
                self.office.unsure.runs.insert(medium);
            }
        }
        self.office.spares = spares;
        self.office.readings = readings;
        self.office.problems.extend(problems);
    }
}

fn one_end(ends: &[End], run: TextRange) -> Problem {
    let range = ends.first().map_or(run, |end| end.range);
    Problem::new(
        ProblemId::ValueUnreadable,
        range,
        "this run has one end, and a run joins at least two",
    )
    .help("put `->` and the other end after it")
}
