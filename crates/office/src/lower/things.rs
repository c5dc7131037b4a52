//! Reads the things that a file declares, and adds the fields of their parts.

use std::sync::Arc;

use drysheath_syntax::{self as syntax, Statement, StatementKind, TokenKind};
use drysheath_text::TextRange;
use rustc_hash::FxHashMap;

use super::Lowering;
use super::inherit::inherit;
use super::outdated::said_by_field;
use super::uses::{PartLookup, PartsWithinReach, bare_name};
use crate::kinds::{KeySet, Kind, KindId};
use crate::model::{Thing, ThingId};
use crate::parts::Part;
use crate::problem::{Problem, ProblemId};
use crate::spelling::with_article;
use crate::unsure::Media;

impl Lowering<'_> {
    pub(super) fn things(&mut self, parts: &PartsWithinReach<'_>) {
        let parts_unsure = parts.unsure || self.lost_use() || self.office.unsure.names;
        // A statement that nests too deep is not in the tree.
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
                StatementKind::Thing(_) if self.office.drawing == Some(statement.range) => {}
                // Misplaced statements in a drawing are reported, and do not become things of the offices that place
                // it.
                StatementKind::Thing(thing) if self.is_office_in_drawing(thing) => {}
                StatementKind::Thing(thing) => self.thing(thing, statement, parts, parts_unsure),
                StatementKind::Unreadable => match self.only_runs(statement) {
                    Some(medium) => self.office.unsure.runs.insert(medium),
                    None if self.only_accepts(statement) => {}
                    None => self.office.unsure.doubt_everything(),
                },
                StatementKind::Run(run) if statement.damaged => self.office.unsure.runs.insert(run.medium),
                _ => {}
            }
        }
        for name in &self.no_things {
            if let Some(id) = self.office.named(name) {
                self.office.thing_mut(id).damaged = true;
            }
        }
        // A file without an office describes no equipment, so only the office is reported missing.
        if self.office.itself.is_none() && self.office.drawing.is_none() {
            self.office.unsure.runs = Media::ALL;
        }
        for (name, id) in std::mem::take(&mut self.may_be_names) {
            self.office.names.entry(name.into()).or_insert(id);
        }
    }

    /// Whether a statement describes an office in the file of an assembly or route.
    fn is_office_in_drawing(&self, thing: &syntax::Thing) -> bool {
        let kind = || thing.kind.and_then(|kind| Kind::find(self.word(kind)));
        self.office.drawing.is_some() && kind().is_some_and(|kind| kind.id == KindId::Office)
    }

    fn thing(
        &mut self,
        thing: &syntax::Thing,
        statement: &Statement,
        parts: &PartsWithinReach<'_>,
        parts_unsure: bool,
    ) {
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
            base: None,
            fields,
            keys: KeySet::ALL,
            damaged,
        };
        if kind.is_some_and(|kind| kind.id == KindId::Assembly) && thing.part.is_none() && statement.damaged {
            // It may be a drawn assembly whose contents are then missing.
            self.office.unsure.doubt_everything();
        }
        if let Some(part) = thing.part {
            let is_taken = self.take_part(&mut lowered, self.tree.range(part), parts, parts_unsure);
            damaged |= !is_taken;
            if !is_taken && kind.is_some_and(|kind| kind.id == KindId::Assembly) {
                // All contents of its drawing are missing.
                self.office.unsure.doubt_everything();
            }
        }
        let id = ThingId::from(self.office.things.len());
        said_by_field(id, &mut lowered.fields, &mut self.said_by_field);
        let is_thing = !statement.damaged || kind.is_some();
        if !name.is_empty() && is_thing && !self.declare(id, name, kind) {
            // Runs lead to the first thing of that name, and another name may be missing because of it.
            damaged = true;
            self.office.unsure.names = true;
        }
        lowered.damaged = damaged;
        self.office.things.push(lowered);
        if statement.damaged && is_thing && !self.joins_another(statement) {
            self.other_names(id, statement);
        }
    }

    /// Records all words of a head with a surplus word as possible names, so that runs that use one of them are not
    /// reported.
    fn other_names(&mut self, id: ThingId, statement: &Statement) {
        let items = self.tree.items(statement.items);
        let head = items.iter().take_while(|token| token.kind.is_word()).skip(1);
        self.may_be_names
            .extend(head.map(|token| (token.range.of(self.text), id)));
    }

    /// Marks what a damaged declaration may contain.
    fn doubtful_thing(&mut self, statement: &Statement, declared: bool) {
        if !declared {
            self.office.unsure.things = true;
            self.office.unsure.names = true;
        }
        // Its words may be names of other things: a run without its first word reads like this.
        let items = self.tree.items(statement.items);
        if items.iter().any(|token| token.kind == TokenKind::Arrow) {
            self.office.unsure.runs = Media::ALL;
        }
        let words = items.iter().filter(|token| token.kind == TokenKind::Word);
        for word in words.map(|token| token.range.of(self.text)) {
            self.taken.insert(word);
            self.office.taken.push(word.into());
        }
    }

    /// Registers a thing by its name. Returns whether the name was free.
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
                        .related(first, "the first office")
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
        let first = self.office.thing(first);
        let kind = first.kind.map_or("thing", Kind::word);
        let first = self.office.place(first.name);
        self.office.problems.push(
            Problem::new(
                ProblemId::NameTwice,
                name,
                format!("the name `{written}` is already taken"),
            )
            .related(first, format!("the {kind} `{written}`"))
            .help("rename one of the two: a name means one thing in an office"),
        );
        false
    }

    /// Adds the fields of its part to a thing. Returns whether that succeeded.
    fn take_part(
        &mut self,
        thing: &mut Thing,
        range: TextRange,
        parts: &PartsWithinReach<'_>,
        parts_unsure: bool,
    ) -> bool {
        let name = range.of(self.text);
        self.take(range);
        let part = match self.look_up_part(range, parts) {
            PartLookup::Part(part) => Some(part),
            PartLookup::Unknown => None,
            PartLookup::Several(problem) => {
                // One problem for a name, however many things use it.
                let is_same = |other: &Problem| {
                    (other.id, other.range, &other.message) == (problem.id, problem.range, &problem.message)
                };
                if !self.office.problems.iter().any(is_same) {
                    self.office.problems.push(problem);
                }
                return false;
            }
        };
        let Some(part) = part else {
            if !parts_unsure && !self.meant_as_part(name, range) {
                let problem = self.unknown_part(range, parts);
                self.office.problems.push(problem);
            }
            return false;
        };
        if let Some(kind) = thing.kind.filter(|kind| kind.id != part.kind.id) {
            let problem = Problem::new(
                ProblemId::PartWrongKind,
                range,
                format!(
                    "part `{name}` is {}, and this thing is {}",
                    with_article(part.kind.word()),
                    with_article(kind.word())
                ),
            );
            self.office
                .problems
                .push(problem.related(part.place, format!("the part `{name}`")));
            return false;
        }
        thing.fields.reserve_exact(part.fields.len());
        inherit(&mut thing.fields, &part.fields);
        let mut is_whole = !part.damaged;
        if part.of.is_some() {
            thing.base = self.base(&part, parts);
            // Problems of the base part are reported where the part is declared.
            is_whole &= thing.base.as_ref().is_some_and(|base| !base.damaged);
        }
        if let Some(base) = &thing.base {
            inherit(&mut thing.fields, &base.fields);
        }
        thing.part = Some(part);
        is_whole
    }

    /// The base part of `part`, if it is suitable.
    fn base(&self, part: &Part, parts: &PartsWithinReach<'_>) -> Option<Arc<Part>> {
        let name = part.of.as_deref()?;
        let base = if part.place.file == self.office.file {
            self.office.part_called_here(name).or_else(|| parts.part(name))
        } else {
            parts.base(part, name)
        };
        base.filter(|base| base.kind.id == part.kind.id && base.of.is_none())
    }

    /// Records the part named at `range` as used.
    pub(super) fn take(&mut self, range: TextRange) {
        let bare = bare_name(range.of(self.text));
        if self.taken.insert(bare) {
            self.office.taken.push(bare.into());
        }
    }

    /// Looks up the part named at `range`.
    pub(super) fn look_up_part(&self, range: TextRange, parts: &PartsWithinReach<'_>) -> PartLookup {
        let name = range.of(self.text);
        let local = self.office.part_called_here(name);
        local.map_or_else(|| parts.look_up_part(name, range, self.office), PartLookup::Part)
    }

    /// The problem of an unknown part named at `range`.
    pub(super) fn unknown_part(&self, range: TextRange, parts: &PartsWithinReach<'_>) -> Problem {
        // Before the first statement of the file, which is the first `use` if there is one.
        let first = self.tree.statements.first().map_or(0, |first| first.range.start);
        parts.unknown((range.of(self.text), range), self.office, first, &self.suggestions)
    }

    /// Whether a part that is not found is declared as a thing, with its first word missing. That gives one problem
    /// however often the part is used, and nothing that such a thing lacks is reported.
    pub(super) fn meant_as_part(&mut self, name: &str, taken: TextRange) -> bool {
        let declared = self.declared.get_or_init(|| {
            let mut declared = FxHashMap::default();
            for statement in &self.tree.statements {
                if let StatementKind::Thing(thing) = &statement.kind
                    && let Some((name, kind)) = thing.name.zip(thing.kind)
                {
                    declared.entry(self.word(name)).or_insert(kind);
                }
            }
            declared
        });
        let Some(kind) = declared.get(name).map(|kind| self.tree.range(*kind)) else {
            return false;
        };
        if self.no_things.insert(name.into()) {
            let fix = syntax::Fix::replace(TextRange::empty(kind.start), "part ", "Insert `part`");
            let message = format!(
                "`part` is missing before `{}`: `{name}` is used as a part",
                kind.of(self.text)
            );
            let problem = Problem::new(ProblemId::PartUnknown, kind, message);
            self.office.problems.push(
                problem
                    .related(self.office.place(taken), format!("`{name}` is used as a part"))
                    .fix(fix),
            );
        }
        true
    }
}
