//! Reads a statement again with the readers that built the office, to get the meaning of each token. None of this is
//! done or stored when a file is only checked.

use drysheath_syntax::{self as syntax, Block, Statement, StatementKind, TokenId, Tree};

use super::annotations::Annotations;
use super::assemblies::{is_of_thing_within, without_things_within};
use super::ends::{EndReader, Position, ReadEnd};
use super::fields::{FieldReader, Owner, Slots};
use super::reader::Reader;
use super::uses::bare_name;
use crate::kinds::{Kind, KindId};
use crate::model::{Office, ThingId};
use crate::semantics::{Meaning, SemanticToken};

impl Office {
    /// The meanings of the tokens of a statement in `tree`, in order. `tree` must be the one that this office was built
    /// from. Works for damaged statements too, as far as their words can be understood.
    pub fn semantic_tokens(&self, tree: &Tree, statement: &Statement) -> Vec<SemanticToken> {
        let annotations = Annotations::new(self, tree, statement);
        if let StatementKind::Thing(thing) | StatementKind::Part(thing) = &statement.kind {
            let kind = thing.kind.map(|kind| tree.range(kind).of(&self.text));
            annotations.kind.set(kind.and_then(Kind::find));
            annotations.thing.set(self.declared_at(statement.range));
        }
        let reading = TokenReader {
            office: self,
            tree,
            annotations: &annotations,
        };
        reading.statement(statement);
        annotations.into_tokens()
    }
}

struct TokenReader<'r> {
    office: &'r Office,
    tree: &'r Tree,
    annotations: &'r Annotations<'r>,
}

impl TokenReader<'_> {
    fn statement(&self, statement: &Statement) {
        let (tree, ends) = (self.tree, EndReader::new(self.office, Some(self.annotations)));
        match &statement.kind {
            StatementKind::Use(used) => self.annotate(used.path, Meaning::Path),
            StatementKind::Part(thing) | StatementKind::Thing(thing) => self.declaration(thing),
            StatementKind::Run(run) => {
                let count = run.ends.len();
                for (at, end) in run.ends.iter().enumerate() {
                    ends.end(tree, run.medium, end, Position::of(at, count));
                }
                for piece in run.pieces() {
                    ends.attributes(tree, run.medium, piece, &mut Vec::new(), &mut Vec::new());
                }
            }
            StatementKind::Spare(spare) => {
                ends.spare(tree, spare);
            }
            StatementKind::Pairs(stated) => {
                ends.stated(tree, stated);
            }
            StatementKind::Accept(accept) => {
                self.annotate(Some(accept.rule), Meaning::Rule);
                self.annotations.set_thing(tree.range(accept.on));
            }
            StatementKind::Reading(reading) => {
                let mut reader = ends.reader(tree, reading.items);
                let mut read = ReadEnd::new(tree.items_range(reading.items));
                if ends.measured(&mut reader, &mut read).is_err() {
                    reader.annotate_rest(None, "");
                }
            }
            StatementKind::When(when) => {
                for items in &when.events {
                    let _ = ends.event(tree, *items);
                }
                for items in &when.expected {
                    let _ = ends.expectation(tree, *items);
                }
            }
            StatementKind::Unreadable => {
                let reader = Reader::new(
                    &self.office.text,
                    tree.items(statement.items),
                    statement.range,
                    self.office.standard,
                );
                let reader = reader.annotating(Some(self.annotations));
                reader.annotate_rest(None, "");
            }
        }
    }

    fn annotate(&self, word: Option<TokenId>, meaning: Meaning) {
        if let Some(word) = word {
            self.annotations.set(self.tree.range(word), meaning);
        }
    }

    /// Marks a thing, or a part if no thing has that statement.
    fn declaration(&self, thing: &syntax::Thing) {
        let kind = self.annotations.kind.get();
        if let Some(kind) = kind {
            self.annotate(thing.kind, Meaning::Kind(kind));
        }
        let declared = match self.annotations.thing.get() {
            Some(id) => Meaning::Thing {
                id: Some(id),
                declares: true,
            },
            None => Meaning::Part { declares: true },
        };
        self.annotate(thing.name, declared);
        if let Some(part) = thing.part {
            // The file before the name is not part of the name.
            let range = self.tree.range(part);
            let name = bare_name(range.of(&self.office.text));
            let start = range.end - name.len() as u32;
            self.annotations
                .set_end(range, start, Meaning::Part { declares: false });
        }
        let (Some(kind), Some(block)) = (kind, &thing.block) else {
            return;
        };
        let Some(assembly) = self.annotations.thing.get().filter(|_| kind.id == KindId::Assembly) else {
            return self.fields(kind, block);
        };
        self.fields(kind, &without_things_within(kind, block, self.tree, &self.office.text));
        for written in &block.fields {
            let name = self.tree.range(written.name);
            let thing = self.office.within(assembly, name.of(&self.office.text));
            let (Some(thing), Some(inner)) = (thing, &written.block) else {
                continue;
            };
            if !is_of_thing_within(kind, written, self.tree, &self.office.text) {
                continue;
            }
            self.annotations.set(name, Meaning::Within { thing });
            if let Some(kind) = self.office.thing(thing).kind {
                self.within(kind, thing, inner);
            }
        }
    }

    /// Marks what an office states about a thing in an assembly.
    fn within(&self, kind: &'static Kind, thing: ThingId, block: &Block) {
        let outer = (
            self.annotations.kind.replace(Some(kind)),
            self.annotations.thing.replace(Some(thing)),
        );
        self.fields(kind, block);
        self.annotations.kind.set(outer.0);
        self.annotations.thing.set(outer.1);
    }

    /// Marks the fields of a block.
    fn fields(&self, kind: &'static Kind, block: &Block) {
        let mut fields = FieldReader {
            file: self.office.file,
            standard: self.office.standard,
            text: &self.office.text,
            tree: self.tree,
            problems: &mut Vec::new(),
            damaged: false,
            depth: 0,
            slots: Slots::default(),
            annotations: Some(self.annotations),
        };
        let owner = Owner {
            word: kind.word(),
            name: None,
        };
        fields.block(block, kind.fields, owner);
    }
}
