//! Collects what the readers of a statement find its tokens to mean.

use std::cell::RefCell;

use drysheath_syntax::{Statement, TokenKind, Tree, Word};

use super::candidates::Candidate;
use crate::kinds::{FieldSpec, Kind};
use crate::model::{Office, ThingId};
use crate::semantics::{Meaning, SemanticToken};

/// What the tokens of one statement mean, as far as it has been read.
pub(super) struct Notes<'o> {
    /// The office that the statement is of.
    pub office: &'o Office,
    /// The kind that the statement declares a thing or a part of.
    pub kind: Option<&'static Kind>,
    /// The thing that the statement declares.
    pub thing: Option<ThingId>,
    /// The number of the statement's first token.
    first: Word,
    tokens: RefCell<Vec<SemanticToken>>,
    /// What could follow the last token.
    candidates: RefCell<Vec<Candidate>>,
}

impl<'o> Notes<'o> {
    /// For a statement of which nothing has been read.
    pub(super) fn new(office: &'o Office, tree: &Tree, statement: &Statement) -> Self {
        let tokens = tree.items(&statement.items).iter().map(|token| SemanticToken {
            range: token.range,
            meaning: by_itself(token.kind),
        });
        Self {
            office,
            kind: None,
            thing: None,
            first: statement.items.start,
            tokens: RefCell::new(tokens.collect()),
            candidates: RefCell::default(),
        }
    }

    /// For tokens that are asked only what could follow them.
    pub(super) fn of_candidates(office: &'o Office) -> Self {
        Self {
            office,
            kind: None,
            thing: None,
            first: 0,
            tokens: RefCell::default(),
            candidates: RefCell::default(),
        }
    }

    /// Notes what a token means; what has been noted of it before holds no longer.
    pub(super) fn set(&self, word: Word, meaning: Meaning) {
        let mut tokens = self.tokens.borrow_mut();
        let at = word.checked_sub(self.first);
        if let Some(token) = at.and_then(|at| tokens.get_mut(at as usize)) {
            token.meaning = meaning;
        }
    }

    /// What the name of a field means in this statement.
    pub(super) fn field(&self, spec: &'static FieldSpec) -> Meaning {
        self.kind.map_or(Meaning::Nothing, |kind| Meaning::Field { spec, kind })
    }

    /// Notes what could follow the last token.
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

/// What a token means wherever it stands.
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
