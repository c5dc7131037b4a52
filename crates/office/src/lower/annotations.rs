//! Collects the meanings of tokens that the readers find.

use std::cell::{Cell, RefCell};

use drysheath_syntax::{Statement, TokenKind, Tree};
use drysheath_text::TextRange;

use super::candidates::Candidate;
use crate::kinds::{FieldSpec, Kind};
use crate::model::{Office, ThingId};
use crate::semantics::{Meaning, SemanticToken};

/// The meanings of the tokens of a statement, as far as read.
pub(super) struct Annotations<'o> {
    /// The office of the statement.
    pub office: &'o Office,
    /// The kind of the thing or part that the statement declares.
    pub kind: Cell<Option<&'static Kind>>,
    /// The thing that the statement declares.
    pub thing: Cell<Option<ThingId>>,
    tokens: RefCell<Vec<SemanticToken>>,
    /// Candidates that could follow the last token.
    candidates: RefCell<Vec<Candidate>>,
}

impl<'o> Annotations<'o> {
    /// For a statement that has not been read yet.
    pub(super) fn new(office: &'o Office, tree: &Tree, statement: &Statement) -> Self {
        let tokens = tree.items(statement.items).iter().map(|token| SemanticToken {
            range: token.range,
            meaning: by_itself(token.kind),
        });
        Self {
            office,
            kind: Cell::new(None),
            thing: Cell::new(None),
            tokens: RefCell::new(tokens.collect()),
            candidates: RefCell::default(),
        }
    }

    /// For tokens whose possible continuations are wanted only.
    pub(super) fn of_candidates(office: &'o Office) -> Self {
        Self {
            office,
            kind: Cell::new(None),
            thing: Cell::new(None),
            tokens: RefCell::default(),
            candidates: RefCell::default(),
        }
    }

    /// Sets the meaning of the token at `range`, replacing an earlier one.
    pub(super) fn set(&self, range: TextRange, meaning: Meaning) {
        let mut tokens = self.tokens.borrow_mut();
        let first = tokens.partition_point(|token| token.range.end < range.end);
        let mut there = tokens.iter_mut().skip(first);
        if let Some(token) = there.find(|token| token.range == range) {
            token.meaning = meaning;
        }
    }

    /// Sets the meaning of the end of the token at `range`, from `start` on; the text before it gets none.
    pub(super) fn set_end(&self, range: TextRange, start: u32, meaning: Meaning) {
        if start > range.start {
            let mut tokens = self.tokens.borrow_mut();
            if let Some(at) = tokens.iter().position(|token| token.range == range) {
                let end = TextRange::new(start, range.end);
                tokens.insert(at + 1, SemanticToken { range: end, meaning });
                if let Some(before) = tokens.get_mut(at) {
                    before.range.end = start;
                }
            }
        } else {
            self.set(range, meaning);
        }
    }

    /// Marks the token at `range` as the name of a thing; in an assembly, as the names of both.
    pub(super) fn set_thing(&self, range: TextRange) {
        let office = self.office;
        let id = office.named(range.of(&office.text));
        let placed = id.and_then(|id| Some((id, office.placed_with(id)?)));
        let Some((id, placed)) = placed.filter(|(_, placed)| !placed.is_route()) else {
            return self.set(range, Meaning::Thing { id, declares: false });
        };
        let assembly = Meaning::Thing {
            id: placed.thing,
            declares: false,
        };
        let between = range.start + placed.name.len();
        self.set_both(range, between, (assembly, Meaning::Within { thing: id }));
    }

    /// Splits the token at `range` into two names, separated by the character at `between`.
    fn set_both(&self, range: TextRange, between: u32, (one, other): (Meaning, Meaning)) {
        self.set_end(range, between + 1, other);
        self.set(TextRange::new(range.start, between + 1), one);
        let mut tokens = self.tokens.borrow_mut();
        if let Some(first) = tokens.iter_mut().find(|token| token.range.end == between + 1) {
            first.range.end = between;
        }
    }

    /// The meaning of a field's name in this statement.
    pub(super) fn field(&self, spec: &'static FieldSpec) -> Meaning {
        self.kind
            .get()
            .map_or(Meaning::Nothing, |kind| Meaning::Field { spec, kind })
    }

    /// Adds a candidate for what could follow the last token.
    pub(super) fn candidate(&self, candidate: Candidate) {
        self.candidates.borrow_mut().push(candidate);
    }

    pub(super) fn into_candidates(self) -> Vec<Candidate> {
        self.candidates.into_inner()
    }

    pub(super) fn into_tokens(self) -> Vec<SemanticToken> {
        self.tokens.into_inner()
    }
}

/// The meaning of a token regardless of its place.
fn by_itself(kind: TokenKind) -> Meaning {
    match kind {
        TokenKind::Number => Meaning::Count,
        TokenKind::Date => Meaning::Date,
        TokenKind::Text | TokenKind::OpenText => Meaning::Text,
        TokenKind::Arrow | TokenKind::DotDot | TokenKind::Colon => Meaning::Operator,
        TokenKind::Word | TokenKind::Unknown => Meaning::Nothing,
        kind if kind.is_keyword() => Meaning::Keyword,
        _ => Meaning::Punctuation,
    }
}
