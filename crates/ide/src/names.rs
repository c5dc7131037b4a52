//! Which names stand in a file, and where: of things, of parts, of named fields, of files and of rules.
//!
//! What is meant by a name is told by the grammar and the table of kinds alone, so that a name is found wherever it
//! stands, whether or not what surrounds it holds.

use drysheath_office::kinds::{self, FieldSpec, Key, Kind, Numbering, Shape};
use drysheath_office::{Fields, Part, Thing, ThingId};
use drysheath_syntax::{self as syntax, Block, Items, Medium, Statement, StatementKind, Token, Word};
use drysheath_text::TextRange;
use rustc_hash::FxHashMap;

use crate::analysis::Analysis;

/// What a name names, within one file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Name<'a> {
    /// A thing.
    Thing(&'a str),
    /// A part, whatever its file.
    Part(&'a str),
    /// A named field: a section, branch, place or contact.
    Inner {
        /// Whose.
        owner: Owner<'a>,
        /// The field's name.
        key: Key,
        /// Its own name.
        name: &'a str,
    },
    /// A file of parts, by its path.
    File(&'a str),
    /// A rule.
    Rule(&'a str),
}

/// Whose a named field is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Owner<'a> {
    /// Of one thing.
    Thing(&'a str),
    /// Of a part, and so of each thing of it.
    Part(&'a str),
    /// Of the named field around it. Nothing can name it from elsewhere, so that its place tells it.
    Field(TextRange),
}

impl<'a> Name<'a> {
    /// The name as it is written.
    pub fn word(self) -> &'a str {
        match self {
            Self::Thing(word)
            | Self::Part(word)
            | Self::Inner { name: word, .. }
            | Self::File(word)
            | Self::Rule(word) => word,
        }
    }

    /// The part that other files may know it by.
    pub fn part(self) -> Option<&'a str> {
        match self {
            Self::Part(part)
            | Self::Inner {
                owner: Owner::Part(part),
                ..
            } => Some(part),
            _ => None,
        }
    }
}

/// A name where it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mention<'a> {
    /// Where.
    pub range: TextRange,
    /// What is named.
    pub name: Name<'a>,
    /// Of a named field the thing whose field is meant.
    pub of: Option<ThingId>,
    /// Whether it is declared here.
    pub declares: bool,
}

/// The names of one file.
pub struct Names<'a> {
    analysis: &'a Analysis,
    things: FxHashMap<&'a str, ThingId>,
}

/// What a block of fields belongs to.
#[derive(Clone, Copy)]
enum Around<'a> {
    Thing(&'a str),
    Part(&'a str),
    Field,
}

impl<'a> Names<'a> {
    /// Those of `analysis`.
    pub fn new(analysis: &'a Analysis) -> Self {
        let office = &analysis.office;
        let mut things = FxHashMap::default();
        for (id, thing) in office.things() {
            if !thing.name.is_empty() {
                things.entry(thing.name.of(&analysis.text)).or_insert(id);
            }
        }
        Self { analysis, things }
    }

    /// The file that they are of.
    pub fn analysis(&self) -> &'a Analysis {
        self.analysis
    }

    /// The thing of that name; of several the first.
    pub fn thing(&self, name: &str) -> Option<ThingId> {
        self.things.get(name).copied()
    }

    /// The name at an offset: the one around it, or else the one that ends there.
    pub fn at(&self, offset: u32) -> Option<Mention<'a>> {
        let statements = &self.analysis.tree.statements;
        let after = statements.partition_point(|statement| statement.range.start <= offset);
        let mut found: Option<Mention<'a>> = None;
        // Of two statements that touch, the first may end with the name.
        for statement in statements.get(after.saturating_sub(2)..after).unwrap_or_default() {
            self.walk(statement, &mut |mention| {
                if mention.range.start <= offset && offset <= mention.range.end {
                    found = Some(mention);
                }
            });
        }
        found
    }

    /// Every name, in the order of the statements.
    pub fn all(&self, found: &mut dyn FnMut(Mention<'a>)) {
        for statement in &self.analysis.tree.statements {
            self.walk(statement, found);
        }
    }

    /// Where something is named, in the order of the file.
    pub fn mentions(&self, name: Name<'_>) -> Vec<Mention<'a>> {
        let mut mentions = Vec::new();
        self.all(&mut |mention| {
            if mention.name == name {
                mentions.push(mention);
            }
        });
        mentions
    }

    fn word(&self, word: Word) -> (&'a str, TextRange) {
        let range = self.analysis.tree.range(word);
        (range.of(&self.analysis.text), range)
    }

    fn token(&self, token: Token) -> Option<(&'a str, TextRange)> {
        let word = token.kind.is_word().then_some(token.range)?;
        Some((word.of(&self.analysis.text), word))
    }

    fn walk(&self, statement: &'a Statement, found: &mut dyn FnMut(Mention<'a>)) {
        match &statement.kind {
            StatementKind::Use(used) => {
                if let Some(path) = used.path {
                    let (word, range) = self.word(path);
                    found(mention(range, Name::File(word)));
                }
            }
            StatementKind::Part(part) => self.declaration(part, Name::Part, Around::Part, found),
            StatementKind::Thing(thing) => self.declaration(thing, Name::Thing, Around::Thing, found),
            StatementKind::Run(run) => {
                for end in &run.ends {
                    self.end(&end.items, Some(run.medium), found);
                }
            }
            StatementKind::Spare(spare) => self.end(&spare.items, None, found),
            StatementKind::Reading(reading) => self.end(&reading.items, Some(Medium::Wire), found),
            StatementKind::Accept(accept) => {
                let (rule, range) = self.word(accept.rule);
                found(mention(range, Name::Rule(rule)));
                let (on, range) = self.word(accept.on);
                found(mention(range, Name::Thing(on)));
            }
            StatementKind::Unreadable => {}
        }
    }

    fn declaration(
        &self,
        thing: &'a syntax::Thing,
        name_of: fn(&'a str) -> Name<'a>,
        around: fn(&'a str) -> Around<'a>,
        found: &mut dyn FnMut(Mention<'a>),
    ) {
        let mut name = "";
        if let Some(word) = thing.name {
            let (written, range) = self.word(word);
            name = written;
            found(Mention {
                declares: true,
                ..mention(range, name_of(written))
            });
        }
        if let Some(part) = thing.part {
            let (part, range) = self.word(part);
            found(mention(range, Name::Part(part)));
        }
        let kind = thing.kind.and_then(|kind| Kind::find(self.word(kind).0));
        if let (Some(kind), Some(block)) = (kind, &thing.block) {
            self.block(block, kind.fields, around(name), found);
        }
    }

    fn block(
        &self,
        block: &'a Block,
        specs: &'static [FieldSpec],
        around: Around<'a>,
        found: &mut dyn FnMut(Mention<'a>),
    ) {
        for field in &block.fields {
            let Some(spec) = kinds::field(specs, self.word(field.name).0) else {
                continue;
            };
            let items = self.analysis.tree.items(&field.items);
            match spec.shape {
                Shape::At => self.at_field(items, found),
                Shape::Named(_) => {
                    if let Some((name, range)) = items.first().and_then(|first| self.token(*first)) {
                        found(self.declared(around, spec.key, name, range));
                    }
                }
                _ => {}
            }
            if let Some(inner) = &field.block {
                self.block(inner, spec.inner(), Around::Field, found);
            }
        }
    }

    fn declared(&self, around: Around<'a>, key: Key, name: &'a str, range: TextRange) -> Mention<'a> {
        let (owner, of) = match around {
            Around::Part(part) => (Owner::Part(part), None),
            Around::Field => (Owner::Field(range), None),
            Around::Thing(thing) => (self.owner(thing, key, name), self.thing(thing)),
        };
        Mention {
            range,
            name: Name::Inner { owner, key, name },
            of,
            declares: true,
        }
    }

    /// Whose a named field of a thing is. What a part has and the thing says anew is the part's all the same.
    fn owner(&self, thing: &'a str, key: Key, name: &str) -> Owner<'a> {
        let part = self.thing(thing).and_then(|id| self.part_of(id));
        match part.filter(|part| part.named(key).any(|(own, ..)| own == name)) {
            Some(part) => Owner::Part(&part.name),
            None => Owner::Thing(thing),
        }
    }

    fn part_of(&self, thing: ThingId) -> Option<&'a Part> {
        self.analysis.office.thing(thing).part.as_deref()
    }

    fn inner(&self, thing: &'a str, key: Key, token: Token, found: &mut dyn FnMut(Mention<'a>)) {
        let Some((name, range)) = self.token(token) else { return };
        let owner = self.owner(thing, key, name);
        found(Mention {
            of: self.thing(thing),
            ..mention(range, Name::Inner { owner, key, name })
        });
    }

    /// `c1 branch b1 0.4 km`, `ap1 place mh-2`.
    fn at_field(&self, items: &'a [Token], found: &mut dyn FnMut(Mention<'a>)) {
        let Some((first, rest)) = items.split_first() else {
            return;
        };
        let Some((thing, range)) = self.token(*first) else {
            return;
        };
        found(mention(range, Name::Thing(thing)));
        let mut rest = rest;
        for key in [Key::Branch, Key::Place] {
            if let [word, name, after @ ..] = rest
                && word.range.of(&self.analysis.text) == key.word()
            {
                self.inner(thing, key, *name, found);
                rest = after;
            }
        }
    }

    /// `tb pair 3`, `d1 contact humidity`, `ap1 place mh-2`.
    fn end(&self, items: &Items, medium: Option<Medium>, found: &mut dyn FnMut(Mention<'a>)) {
        let items = self.analysis.tree.items(items);
        let Some((thing, range)) = items.first().and_then(|first| self.token(*first)) else {
            return;
        };
        found(mention(range, Name::Thing(thing)));
        let (Some(medium), [_, port, name, ..]) = (medium, items) else {
            return;
        };
        let id = self.thing(thing).map(|id| self.analysis.office.thing(id));
        if let Some(key) = id.and_then(|thing| named_port(thing, medium, port.range.of(&self.analysis.text))) {
            self.inner(thing, key, *name, found);
        }
    }
}

/// The named field that a port's word wants the name of.
fn named_port(thing: &Thing, medium: Medium, word: &str) -> Option<Key> {
    let mut ports = thing.kind?.ports_in(medium);
    ports
        .find(|port| port.word == word)
        .and_then(|port| match port.numbering {
            Numbering::Named(key) => Some(key),
            _ => None,
        })
}

fn mention(range: TextRange, name: Name<'_>) -> Mention<'_> {
    Mention {
        range,
        name,
        of: None,
        declares: false,
    }
}
