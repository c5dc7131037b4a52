//! Generates edits: each changes the meaning of one place of an office. They are based on the tree and the meaning of
//! its tokens, not on the text.

use drysheath_engineering::units::{self, Dimension};
use drysheath_office::kinds::{FieldSpec, Kind, Shape, field};
use drysheath_office::{Meaning, Office, SemanticToken};
use drysheath_syntax::{Block, Field, Run, Statement, StatementKind, Thing, TokenKind, TokenSpan, Tree};
use drysheath_text::TextRange;

use super::{Class, values};

/// One edit of one file.
pub(super) struct Edit {
    pub class: Class,
    /// Ranges and their replacements, which do not overlap.
    changes: Vec<(TextRange, String)>,
}

impl Edit {
    fn sorted(&self) -> Vec<&(TextRange, String)> {
        let mut changes: Vec<_> = self.changes.iter().collect();
        changes.sort_by_key(|(range, _)| range.start);
        changes
    }

    pub(super) fn apply(&self, text: &str) -> String {
        let mut out = String::with_capacity(text.len());
        let mut at = 0;
        for (range, new) in self.sorted() {
            out.push_str(TextRange::new(at, range.start).of(text));
            out.push_str(new);
            at = range.end;
        }
        out.push_str(TextRange::new(at, text.len() as u32).of(text));
        out
    }

    pub(super) fn line(&self, text: &str) -> usize {
        let start = self.sorted().first().map_or(0, |(range, _)| range.start);
        TextRange::new(0, start).of(text).matches('\n').count() + 1
    }

    /// The old text and the new one, for display.
    pub(super) fn shown(&self, text: &str) -> String {
        let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let shown = |(range, new): &&(TextRange, String)| format!("`{}` → `{}`", plain(range.of(text)), plain(new));
        self.sorted().iter().map(shown).collect::<Vec<_>>().join(", ")
    }
}

/// Context from other files.
#[derive(Clone, Copy)]
pub(super) struct Surroundings<'s> {
    /// All parts, by kind and name.
    pub parts: &'s [(&'static Kind, &'s str)],
    /// All files, by the path used in `use` statements.
    pub paths: &'s [&'s str],
}

/// All edits of a file.
pub(super) fn edits(office: &Office, tree: &Tree, surroundings: Surroundings<'_>) -> Vec<Edit> {
    let mut editor = Editor {
        office,
        tree,
        text: &office.text,
        surroundings,
        edits: Vec::new(),
    };
    for statement in &tree.statements {
        editor.statement(statement);
    }
    editor.neighbours();
    editor.edits
}

pub(super) struct Editor<'e> {
    pub office: &'e Office,
    pub tree: &'e Tree,
    pub text: &'e str,
    pub surroundings: Surroundings<'e>,
    edits: Vec<Edit>,
}

impl Editor<'_> {
    pub(super) fn push(&mut self, what: &str, how: impl Into<String>, changes: Vec<(TextRange, String)>) {
        if changes.iter().any(|(range, new)| range.of(self.text) != new) {
            let class = Class {
                what: what.to_owned(),
                how: how.into(),
            };
            self.edits.push(Edit { class, changes });
        }
    }

    fn swap(&mut self, what: &str, how: impl Into<String>, one: TextRange, other: TextRange) {
        let changes = vec![
            (one, other.of(self.text).to_owned()),
            (other, one.of(self.text).to_owned()),
        ];
        self.push(what, how, changes);
    }

    fn statement(&mut self, statement: &Statement) {
        let what = self.name(statement);
        self.push(&what, "statement dropped", vec![(statement.range, String::new())]);
        match &statement.kind {
            StatementKind::Thing(thing) | StatementKind::Part(thing) => {
                if let (Some(kind), Some(block)) = (self.kind(thing), &thing.block) {
                    self.block(block, kind.fields, &what);
                }
            }
            StatementKind::Run(run) => self.run(run, &what),
            _ => {}
        }
        let tokens = self.office.semantic_tokens(self.tree, statement);
        let kind = match &statement.kind {
            StatementKind::Thing(thing) | StatementKind::Part(thing) => self.kind(thing),
            _ => None,
        };
        for (at, token) in tokens.iter().enumerate() {
            let (path, spec) = self.path(statement, token.range, &what);
            let place = values::Token {
                all: &tokens,
                at,
                path: &path,
                spec,
                kind,
            };
            values::edits(self, &place);
        }
    }

    pub(super) fn kind(&self, thing: &Thing) -> Option<&'static Kind> {
        Kind::find(self.tree.range(thing.kind?).of(self.text))
    }

    fn name(&self, statement: &Statement) -> String {
        match &statement.kind {
            StatementKind::Use(_) => "use".to_owned(),
            StatementKind::Part(thing) | StatementKind::Thing(thing) => {
                self.kind(thing).map_or("thing", Kind::word).to_owned()
            }
            StatementKind::Run(run) => format!("{} run", run.medium.word()),
            StatementKind::Spare(_) => "spare".to_owned(),
            StatementKind::Pairs(stated) => stated.state.word().to_owned(),
            StatementKind::Accept(_) => "accept".to_owned(),
            StatementKind::Reading(_) => "reading".to_owned(),
            StatementKind::When(_) => "when".to_owned(),
            StatementKind::Unreadable => "unreadable".to_owned(),
        }
    }

    /// Path of a token's field, or its attribute of a run.
    fn path(&self, statement: &Statement, token: TextRange, what: &str) -> (String, Option<&'static FieldSpec>) {
        match &statement.kind {
            StatementKind::Thing(thing) | StatementKind::Part(thing) => {
                let mut path = what.to_owned();
                let mut specs = self.kind(thing).map_or(&[][..], |kind| kind.fields);
                let mut spec = None;
                let mut block = thing.block.as_ref();
                while let Some(inner) = block.and_then(|block| {
                    block
                        .fields
                        .iter()
                        .find(|field| self.tree.field_range(field).contains(token))
                }) {
                    let word = self.tree.range(inner.name).of(self.text);
                    path = format!("{path} {word}");
                    spec = field(specs, word);
                    specs = spec.map_or(&[][..], FieldSpec::inner);
                    block = inner.block.as_ref();
                }
                if path == what {
                    path = format!("{what} head");
                }
                (path, spec)
            }
            StatementKind::Run(run) => {
                let mut with = run.pieces().flatten();
                let attribute = with.find(|items| self.tree.items_range(**items).contains(token));
                let inner = attribute.map_or("end", |items| self.attribute(*items));
                (format!("{what} {inner}"), None)
            }
            _ => (what.to_owned(), None),
        }
    }

    fn attribute(&self, items: TokenSpan) -> &'static str {
        let words = || self.tree.items(items).iter().map(|token| token.range.of(self.text));
        let named = ["tube", "bore", "adapter", "reducer"];
        if let Some(name) = named.into_iter().find(|name| words().any(|word| word == *name)) {
            return name;
        }
        match words().find_map(units::find).map(|unit| unit.dimension) {
            Some(Dimension::WireSize) => "wire size",
            Some(Dimension::Current) => "fuse",
            _ => "length",
        }
    }

    fn block(&mut self, block: &Block, specs: &'static [FieldSpec], what: &str) {
        for written in &block.fields {
            let word = self.tree.range(written.name).of(self.text);
            let path = format!("{what} {word}");
            let range = self.with_comma(self.tree.field_range(written));
            self.push(&path, "dropped", vec![(range, String::new())]);
            let inner = field(specs, word).map_or(&[][..], FieldSpec::inner);
            if let Some(own) = &written.block {
                self.block(own, inner, &path);
            }
        }
        self.swapped_fields(&block.fields, specs, what);
    }

    /// Range of a field with the comma that separates it from the next or the previous one.
    fn with_comma(&self, field: TextRange) -> TextRange {
        let is_blank = |kind: TokenKind| matches!(kind, TokenKind::Space | TokenKind::Comment);
        let tokens = || self.tree.tokens.iter().filter(|token| !is_blank(token.kind));
        let after = tokens().find(|token| token.range.start >= field.end);
        let before = tokens().take_while(|token| token.range.end <= field.start).last();
        match (after, before) {
            (Some(comma), _) | (_, Some(comma)) if comma.kind == TokenKind::Comma => field.cover(comma.range),
            _ => field,
        }
    }

    /// Swaps values of the same dimension in one block, and values of two named fields.
    fn swapped_fields(&mut self, fields: &[Field], specs: &'static [FieldSpec], what: &str) {
        for (at, one) in fields.iter().enumerate() {
            for other in fields.iter().skip(at + 1) {
                self.swap_fields(one, other, specs, what);
            }
        }
    }

    fn swap_fields(&mut self, one: &Field, other: &Field, specs: &'static [FieldSpec], what: &str) {
        let word = |field: &Field| self.tree.range(field.name).of(self.text);
        let (first, second) = (word(one), word(other));
        let (Some(spec), Some(others)) = (field(specs, first), field(specs, second)) else {
            return;
        };
        if first == second {
            if let (Some(own), Some(others)) = (&one.block, &other.block) {
                let path = format!("{what} {first}");
                self.swap_like(
                    &own.fields,
                    &others.fields,
                    &path,
                    &format!("swapped with another {first}"),
                );
            }
            return;
        }
        let dimension = |spec: &FieldSpec| match spec.shape {
            Shape::Quantity(dimension) => Some(dimension),
            Shape::Difference => Some(Dimension::Pressure),
            _ => None,
        };
        if dimension(spec).is_some() && dimension(spec) == dimension(others) {
            let (one, other) = (self.tree.items_range(one.items), self.tree.items_range(other.items));
            self.swap(&format!("{what} {first}"), format!("swapped with {second}"), one, other);
        }
    }

    /// Swaps the values of fields with the same name in two blocks.
    fn swap_like(&mut self, one: &[Field], other: &[Field], what: &str, how: &str) {
        for own in one.iter().filter(|own| own.block.is_none()) {
            let name = |field: &Field| self.tree.range(field.name).of(self.text);
            let word = name(own);
            if let Some(like) = other.iter().find(|like| name(like) == word && like.block.is_none()) {
                let (one, other) = (self.tree.items_range(own.items), self.tree.items_range(like.items));
                self.swap(&format!("{what} {word}"), how, one, other);
            }
        }
    }

    fn run(&mut self, run: &Run, what: &str) {
        let ends: Vec<TextRange> = run.ends.iter().map(|end| self.tree.items_range(end.items)).collect();
        for pair in ends.windows(2) {
            if let [one, other] = pair {
                self.swap(&format!("{what} end"), "arrow reversed", *one, *other);
            }
        }
        for (at, end) in ends.iter().enumerate().filter(|_| ends.len() > 2) {
            let range = match (ends.get(at + 1), at.checked_sub(1).and_then(|at| ends.get(at))) {
                (Some(next), _) => TextRange::new(end.start, next.start),
                (None, Some(before)) => TextRange::new(before.end, end.end),
                (None, None) => continue,
            };
            self.push(&format!("{what} end"), "dropped", vec![(range, String::new())]);
        }
        for piece in run.pieces() {
            self.piece(piece, ends.last().copied(), what);
        }
    }

    /// Drops each size and length.
    fn piece(&mut self, piece: &[TokenSpan], end: Option<TextRange>, what: &str) {
        let with: Vec<TextRange> = piece.iter().map(|items| self.tree.items_range(*items)).collect();
        for (at, (own, items)) in with.iter().zip(piece).enumerate() {
            let range = match (with.get(at + 1), at.checked_sub(1).and_then(|at| with.get(at))) {
                (Some(next), _) => TextRange::new(own.start, next.start),
                (None, Some(before)) => TextRange::new(before.end, own.end),
                (None, None) => TextRange::new(end.map_or(own.start, |end| end.end), own.end),
            };
            let path = format!("{what} {}", self.attribute(*items));
            self.push(&path, "dropped", vec![(range, String::new())]);
        }
    }

    /// Swaps values and ends of a statement with those of the next of its kind.
    fn neighbours(&mut self) {
        let statements = &self.tree.statements;
        for (at, one) in statements.iter().enumerate() {
            let what = self.name(one);
            let Some(other) = statements.iter().skip(at + 1).find(|other| self.name(other) == what) else {
                continue;
            };
            match (&one.kind, &other.kind) {
                (StatementKind::Thing(own), StatementKind::Thing(like))
                | (StatementKind::Part(own), StatementKind::Part(like)) => {
                    if let (Some(own), Some(like)) = (&own.block, &like.block) {
                        self.swap_like(
                            &own.fields,
                            &like.fields,
                            &what,
                            &format!("swapped with another {what}"),
                        );
                    }
                }
                (StatementKind::Run(own), StatementKind::Run(like)) => {
                    let end = |run: &Run| run.ends.last().map(|end| self.tree.items_range(end.items));
                    if let (Some(own), Some(like)) = (end(own), end(like)) {
                        self.swap(
                            &format!("{what} end"),
                            "last end exchanged with the next run's",
                            own,
                            like,
                        );
                    }
                }
                _ => {}
            }
        }
    }
}

/// Whether a token is the `..` of a range.
pub(super) fn is_dots(token: Option<&SemanticToken>, text: &str) -> bool {
    token.is_some_and(|token| matches!(token.meaning, Meaning::Operator) && token.range.of(text) == "..")
}
