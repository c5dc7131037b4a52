use std::ops::Range;

use drysheath_text::TextRange;

use crate::{Problem, Token, TokenKind};

/// A token of [`Tree::words`], by its number.
pub type Word = u32;
/// Consecutive tokens of [`Tree::words`].
pub type Items = Range<u32>;

/// One file, read: every statement, and all tokens for whoever cares about layout.
#[derive(Clone, Debug, Default)]
pub struct Tree {
    /// All tokens, without gaps.
    pub tokens: Vec<Token>,
    /// The tokens that carry meaning, as the statements use them. Here a missing brace has been supplied and a
    /// surplus one left out.
    pub words: Vec<Token>,
    /// The statements, in order.
    pub statements: Vec<Statement>,
    /// What could not be read.
    pub problems: Vec<Problem>,
    /// Whether the last statement could not be read, so that the text may end inside it and lack what should follow.
    pub cut: bool,
}

/// A statement and its place.
#[derive(Clone, Debug)]
pub struct Statement {
    /// The statement by its kind, with the words that make it up.
    pub kind: StatementKind,
    /// From its first to its last token.
    pub range: TextRange,
    /// The tokens that it consists of.
    pub items: Items,
    /// Whether something in it could not be read. What follows from its *absence* must not be reported.
    pub damaged: bool,
}

/// What a statement says.
#[derive(Clone, Debug)]
pub enum StatementKind {
    /// `use parts/field-sensors`
    Use(Use),
    /// `part regulator line-two { … }`
    Part(Thing),
    /// `regulator r1 : line-two { … }`
    Thing(Thing),
    /// `air d1 -> r1 with 3/8 in tube, 4 m`
    Run(Run),
    /// `spare tb pair 5 .. 12`
    Spare(Spare),
    /// `accept UNREADABLE on THING because "…" until DATE`
    Accept(Accept),
    /// `reading DATE THING …`
    Reading(Reading),
    /// Nothing that can be told.
    Unreadable,
}

/// `use PATH`
#[derive(Clone, Debug)]
pub struct Use {
    /// The path of the file that is used.
    pub path: Option<Word>,
}

/// A thing or a part: kind, name, the part it takes its fields from, its own fields.
#[derive(Clone, Debug, Default)]
pub struct Thing {
    /// The word for its kind.
    pub kind: Option<Word>,
    /// The word that names it.
    pub name: Option<Word>,
    /// The part it is one of.
    pub part: Option<Word>,
    /// Its own fields, if it has a block.
    pub block: Option<Block>,
}

/// A block: fields between braces.
#[derive(Clone, Debug)]
pub struct Block {
    /// The brace that opens the block.
    pub open: Word,
    /// The brace that closes the block.
    pub close: Word,
    /// The fields of the block, in order.
    pub fields: Vec<Field>,
}

/// A field: its name, what is said of it, and its own fields if it has any.
#[derive(Clone, Debug)]
pub struct Field {
    /// The word that names the field.
    pub name: Word,
    /// What is said of it.
    pub items: Items,
    /// Its own fields, if it has a block.
    pub block: Option<Block>,
    /// Whether it could not be read.
    pub damaged: bool,
}

/// A medium that runs are made in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Medium {
    /// Dry air, from a dryer to where it is used.
    Air,
    /// Signals on pairs of wire.
    Wire,
    /// Battery power, from the plant to its loads.
    Power,
    /// Frame ground, from a chassis to a ground bar.
    Ground,
}

impl Medium {
    /// The word that begins a run in this medium.
    pub fn word(self) -> &'static str {
        match self {
            Self::Air => "air",
            Self::Wire => "wire",
            Self::Power => "power",
            Self::Ground => "ground",
        }
    }
}

/// A run: ends joined in a row, and what joins them.
#[derive(Clone, Debug)]
pub struct Run {
    /// The medium that the run carries.
    pub medium: Medium,
    /// From end to end.
    pub ends: Vec<End>,
    /// What stands after `with`, between commas.
    pub with: Vec<Items>,
}

/// One end of a run.
#[derive(Clone, Debug)]
pub struct End {
    /// The tokens that it consists of.
    pub items: Items,
    /// Whether it could not be read.
    pub damaged: bool,
}

/// `spare tb pair 5 .. 12`
#[derive(Clone, Debug)]
pub struct Spare {
    /// The tokens that name what is spare.
    pub items: Items,
}

/// `accept UNREADABLE on THING because "…" until DATE`
#[derive(Clone, Debug)]
pub struct Accept {
    /// The name of the rule whose result is accepted.
    pub rule: Word,
    /// The thing it is accepted on.
    pub on: Word,
    /// The reason, in quotes.
    pub because: Word,
    /// The last day on which the acceptance holds.
    pub until: Word,
}

/// `reading DATE THING …`
#[derive(Clone, Debug)]
pub struct Reading {
    /// The day it was taken.
    pub date: Word,
    /// What was read, and the figures.
    pub items: Items,
}

impl Tree {
    /// The token, or an empty one past the end.
    pub fn token(&self, word: Word) -> Token {
        self.words.get(word as usize).copied().unwrap_or(Token {
            kind: TokenKind::Unknown,
            range: TextRange::empty(self.words.last().map_or(0, |last| last.range.end)),
        })
    }

    /// The place of a token.
    pub fn range(&self, word: Word) -> TextRange {
        self.token(word).range
    }

    /// A block from brace to brace.
    pub fn block_range(&self, block: &Block) -> TextRange {
        self.range(block.open).cover(self.range(block.close))
    }

    /// A field from its name to its last value or brace.
    pub fn field_range(&self, field: &Field) -> TextRange {
        let mut range = self.range(field.name);
        if !field.items.is_empty() {
            range = range.cover(self.items_range(&field.items));
        }
        field
            .block
            .as_ref()
            .map_or(range, |block| range.cover(self.block_range(block)))
    }

    /// The tokens of some items.
    pub fn items(&self, items: &Items) -> &[Token] {
        self.words
            .get(items.start as usize..items.end as usize)
            .unwrap_or_default()
    }

    /// From the first to the last of some items; for none, the empty range before the next token.
    pub fn items_range(&self, items: &Items) -> TextRange {
        match self.items(items) {
            [] => TextRange::empty(self.range(items.start).start),
            [only] => only.range,
            [first, .., last] => first.range.cover(last.range),
        }
    }
}
