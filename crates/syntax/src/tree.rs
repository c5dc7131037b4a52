use drysheath_text::TextRange;

use crate::{Problem, Token};

/// One token of a [`Tree`], which alone hands these out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Word(u32);

/// Consecutive tokens of a [`Tree`], which alone hands these out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Items {
    start: u32,
    end: u32,
}

impl Word {
    pub(crate) fn new(number: usize) -> Self {
        Self(number as u32)
    }

    /// Its number among the words of the tree.
    pub(crate) fn number(self) -> usize {
        self.0 as usize
    }

    /// The same word, counted from a token that lies `by` tokens further ahead; further behind where `by` wraps.
    pub(crate) fn shifted(self, by: u32) -> Self {
        Self(self.0.wrapping_add(by))
    }
}

impl Items {
    pub(crate) fn new(start: usize, end: usize) -> Self {
        Self {
            start: start as u32,
            end: end as u32,
        }
    }

    /// The number of the first token.
    pub(crate) fn start(self) -> u32 {
        self.start
    }

    /// Their numbers among the words of the tree.
    pub(crate) fn numbers(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }

    /// The first token as a word, and the others.
    pub(crate) fn split_first(self) -> (Word, Self) {
        let rest = Self {
            start: self.start + 1,
            ..self
        };
        (Word(self.start), rest)
    }

    /// Those of the tokens that come before a word.
    pub(crate) fn before(self, word: Word) -> Self {
        let end = self.end.min(word.0);
        Self {
            start: self.start.min(end),
            end,
        }
    }

    /// The token that lies `count` tokens before the end.
    pub(crate) fn before_end(self, count: u32) -> Word {
        Word(self.end - count)
    }

    /// From the first of these tokens to the last of `last`.
    #[must_use]
    pub fn through(self, last: Self) -> Self {
        Self { end: last.end, ..self }
    }

    /// Whether there are no tokens.
    pub fn is_empty(self) -> bool {
        self.start >= self.end
    }

    /// The same tokens, counted from a token that lies `by` tokens further ahead; further behind where `by` wraps.
    pub(crate) fn shifted(self, by: u32) -> Self {
        Self {
            start: self.start.wrapping_add(by),
            end: self.end.wrapping_add(by),
        }
    }

    /// Their number.
    pub(crate) fn count(self) -> u32 {
        self.end.saturating_sub(self.start)
    }
}

/// One file, read: every statement, and all tokens, for the formatter.
#[derive(Clone, Debug, Default)]
pub struct Tree {
    /// All tokens, without gaps.
    pub tokens: Vec<Token>,
    /// The tokens that carry meaning, as the statements use them. Here a missing brace has been supplied and a
    /// surplus one left out.
    pub words: Vec<Token>,
    /// The statements, in order.
    pub statements: Vec<Statement>,
    /// What could not be read. The other places that a problem names are in this text too, whatever file they say.
    pub problems: Vec<Problem>,
    /// Whether the text may lack what belongs in it: its last statement could not be read, so that it may end inside that,
    /// or a merge was not finished.
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
    /// A use of a file of parts: `use parts/field-sensors`
    Use(Use),
    /// `part regulator line-two { … }`
    Part(Thing),
    /// `regulator r1 : line-two { … }`
    Thing(Thing),
    /// `air d1 -> r1 with 3/8 in tube, 4 m`
    Run(Run),
    /// `spare tb pair 5 .. 12`
    Spare(Spare),
    /// `assigned c101 pair 1 .. 30 to "subscribers"`
    Stated(Stated),
    /// `accept UNREADABLE on THING because "…" until DATE`
    Accept(Accept),
    /// `reading DATE THING …`
    Reading(Reading),
    /// `when d1 stops expect all above minimum`
    When(When),
    /// A statement that cannot be identified.
    Unreadable,
}

/// A use of a file of parts: `use PATH`
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

/// A field: its name, its value, and its own fields if it has any.
#[derive(Clone, Debug)]
pub struct Field {
    /// The word that names the field.
    pub name: Word,
    /// The tokens of its value.
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
    /// What follows `with`, between commas.
    pub with: Vec<Items>,
    /// What follows each `then`: the further pieces, in the direction of the arrow.
    pub then: Vec<Vec<Items>>,
}

impl Run {
    /// The sizes of each piece: what follows `with`, and what follows each `then`.
    pub fn pieces(&self) -> impl Iterator<Item = &[Items]> {
        std::iter::once(&*self.with).chain(self.then.iter().map(|piece| &**piece))
    }
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

/// What is said of pairs beyond the runs that take them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PairState {
    /// Another service has them.
    Assigned,
    /// They carry nothing any more.
    Defective,
    /// They are joined at both ends and carry one signal together.
    Bunched,
    /// A third wire is on them for a while, which leads to nothing yet or to nothing any more.
    Tapped,
}

impl PairState {
    /// All of them, in the order of the reference.
    pub const ALL: [Self; 4] = [Self::Assigned, Self::Defective, Self::Bunched, Self::Tapped];

    /// Whether no run may take such a pair.
    pub fn bars_runs(self) -> bool {
        matches!(self, Self::Assigned | Self::Defective)
    }

    /// The word that the statement starts with.
    pub fn word(self) -> &'static str {
        match self {
            Self::Assigned => "assigned",
            Self::Defective => "defective",
            Self::Bunched => "bunched",
            Self::Tapped => "tapped",
        }
    }

    /// The word before the text that says to whom or why.
    pub fn joint(self) -> &'static str {
        match self {
            Self::Assigned => "to",
            Self::Defective | Self::Bunched | Self::Tapped => "because",
        }
    }
}

/// `assigned c101 pair 1 .. 30 to "subscribers"`, `defective c101 pair 31 because "open at mh-4"`
#[derive(Clone, Debug)]
pub struct Stated {
    /// What is said of them.
    pub state: PairState,
    /// The tokens that name the pairs, and say to whom they are assigned or what is wrong with them.
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

/// `when d1 stops, v2 opens expect c101 above minimum, no alarm`
#[derive(Clone, Debug)]
pub struct When {
    /// What happens, all of it at once.
    pub events: Vec<Items>,
    /// What must hold then.
    pub expected: Vec<Items>,
}

impl When {
    /// The parts of the statement in order.
    pub fn clauses(&self) -> impl Iterator<Item = Items> + '_ {
        self.events.iter().chain(&self.expected).copied()
    }
}

impl Tree {
    /// The token of a word.
    #[expect(
        clippy::indexing_slicing,
        reason = "a word of another tree is a mistake in the program"
    )]
    pub fn token(&self, word: Word) -> Token {
        self.words[word.0 as usize]
    }

    /// The place of a word.
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
            range = range.cover(self.items_range(field.items));
        }
        field
            .block
            .as_ref()
            .map_or(range, |block| range.cover(self.block_range(block)))
    }

    /// The tokens of some items.
    #[expect(
        clippy::indexing_slicing,
        reason = "items of another tree are a mistake in the program"
    )]
    pub fn items(&self, items: Items) -> &[Token] {
        &self.words[items.start as usize..items.end as usize]
    }

    /// The place of the token before some items, if one is there.
    pub fn range_before(&self, items: Items) -> Option<TextRange> {
        let before = (items.start as usize).checked_sub(1)?;
        self.words.get(before).map(|token| token.range)
    }

    /// From the first to the last of some items; for none, the empty range before the next token.
    pub fn items_range(&self, items: Items) -> TextRange {
        match self.items(items) {
            [] => {
                let end = || self.words.last().map_or(0, |last| last.range.end);
                let next = self.words.get(items.start as usize);
                TextRange::empty(next.map_or_else(end, |next| next.range.start))
            }
            [only] => only.range,
            [first, .., last] => first.range.cover(last.range),
        }
    }
}
