use drysheath_text::TextRange;

use crate::{Problem, Token};

/// A token of a [`Tree`], by its number. Only trees create these.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TokenId(u32);

/// Consecutive tokens of a [`Tree`]. Only trees create these.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TokenSpan {
    start: u32,
    end: u32,
}

impl TokenId {
    pub(crate) fn new(number: usize) -> Self {
        Self(number as u32)
    }

    /// Index among the words of the tree.
    pub(crate) fn number(self) -> usize {
        self.0 as usize
    }

    /// The same word, with `by` added to its index; `by` may wrap for a negative offset.
    pub(crate) fn shifted(self, by: u32) -> Self {
        Self(self.0.wrapping_add(by))
    }
}

impl TokenSpan {
    pub(crate) fn new(start: usize, end: usize) -> Self {
        Self {
            start: start as u32,
            end: end as u32,
        }
    }

    /// Index of the first token.
    pub(crate) fn start(self) -> u32 {
        self.start
    }

    /// Indices among the words of the tree.
    pub(crate) fn numbers(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }

    /// Splits off the first token.
    pub(crate) fn split_first(self) -> (TokenId, Self) {
        let rest = Self {
            start: self.start + 1,
            ..self
        };
        (TokenId(self.start), rest)
    }

    /// The tokens before a word.
    pub(crate) fn before(self, word: TokenId) -> Self {
        let end = self.end.min(word.0);
        Self {
            start: self.start.min(end),
            end,
        }
    }

    /// The token `count` tokens before the end.
    pub(crate) fn before_end(self, count: u32) -> TokenId {
        TokenId(self.end - count)
    }

    /// All tokens from the first of these to the last of `last`.
    #[must_use]
    pub fn through(self, last: Self) -> Self {
        Self { end: last.end, ..self }
    }

    /// Whether there are no tokens.
    pub fn is_empty(self) -> bool {
        self.start >= self.end
    }

    /// The same tokens, with `by` added to their indices; `by` may wrap for a negative offset.
    pub(crate) fn shifted(self, by: u32) -> Self {
        Self {
            start: self.start.wrapping_add(by),
            end: self.end.wrapping_add(by),
        }
    }

    /// How many tokens it covers.
    pub(crate) fn count(self) -> u32 {
        self.end.saturating_sub(self.start)
    }
}

/// A parsed file: all statements, and all tokens for the formatter.
#[derive(Clone, Debug, Default)]
pub struct Tree {
    /// All tokens, without gaps.
    pub tokens: Vec<Token>,
    /// Significant tokens, to which the statements refer. Missing braces have been inserted and surplus ones omitted.
    pub words: Vec<Token>,
    /// All statements in the order of the text, unreadable ones among them.
    pub statements: Vec<Statement>,
    /// Problems. Their related places are in this text too, whatever file they state.
    pub problems: Vec<Problem>,
    /// Whether the text may be incomplete: its last statement could not be parsed, so that the file may end inside it,
    /// or a merge was not finished.
    pub cut: bool,
}

/// A statement and its range.
#[derive(Clone, Debug)]
pub struct Statement {
    /// The statement by type, with its words.
    pub kind: StatementKind,
    /// From its first to its last token.
    pub range: TextRange,
    /// Tokens of the statement.
    pub items: TokenSpan,
    /// Whether something in it could not be parsed. What follows from the *absence* of anything in it must not be
    /// reported.
    pub damaged: bool,
}

/// Types of statements, with their contents.
#[derive(Clone, Debug)]
pub enum StatementKind {
    /// Use of a parts file: `use parts/field-sensors`
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
    Pairs(PairStateStatement),
    /// `accept UNREADABLE on THING because "…" until DATE`
    Accept(Accept),
    /// `reading DATE THING …`
    Reading(Reading),
    /// `when d1 stops expect all above minimum`
    When(When),
    /// A statement that could not be identified.
    Unreadable,
}

/// Use of a parts file: `use PATH`
#[derive(Clone, Debug)]
pub struct Use {
    /// Path of the parts file.
    pub path: Option<TokenId>,
}

/// A thing or a part: kind, name, the part it uses, its own fields.
#[derive(Clone, Debug, Default)]
pub struct Thing {
    /// Word for its kind. `None` if it is missing.
    pub kind: Option<TokenId>,
    /// Name in the declaration. `None` if it is missing.
    pub name: Option<TokenId>,
    /// Name of the part it uses.
    pub part: Option<TokenId>,
    /// Fields of the thing itself, if it has a block.
    pub block: Option<Block>,
}

/// A block: fields between braces.
#[derive(Clone, Debug)]
pub struct Block {
    /// The `{` that opens it; in a damaged text one that was inserted.
    pub open: TokenId,
    /// The `}` that closes it; in a damaged text one that was inserted.
    pub close: TokenId,
    /// Fields, in order.
    pub fields: Vec<Field>,
}

/// A field: name, value, and inner fields if it has a block.
#[derive(Clone, Debug)]
pub struct Field {
    /// Name of the field.
    pub name: TokenId,
    /// Tokens of its value.
    pub items: TokenSpan,
    /// Inner fields, if it has a block.
    pub block: Option<Block>,
    /// Whether it could not be parsed.
    pub damaged: bool,
}

/// Medium of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Medium {
    /// Dry air, from a dryer to the cables.
    Air,
    /// Signals on wire pairs.
    Wire,
    /// Battery power, from the plant to its loads.
    Power,
    /// Frame ground, from a chassis to a ground bar.
    Ground,
}

impl Medium {
    /// Keyword that begins a run of this medium.
    pub fn word(self) -> &'static str {
        match self {
            Self::Air => "air",
            Self::Wire => "wire",
            Self::Power => "power",
            Self::Ground => "ground",
        }
    }
}

/// A run: a chain of ends, and what joins them.
#[derive(Clone, Debug)]
pub struct Run {
    /// Medium, from the first word.
    pub medium: Medium,
    /// Ends, in order.
    pub ends: Vec<End>,
    /// Items after `with`, separated by commas.
    pub with: Vec<TokenSpan>,
    /// Items after each `then`: the further pieces, in the direction of the arrow.
    pub then: Vec<Vec<TokenSpan>>,
}

impl Run {
    /// Sizes of each piece: those after `with`, then those after each `then`.
    pub fn pieces(&self) -> impl Iterator<Item = &[TokenSpan]> {
        std::iter::once(&*self.with).chain(self.then.iter().map(|piece| &**piece))
    }
}

/// One end of a run.
#[derive(Clone, Debug)]
pub struct End {
    /// Tokens of the end.
    pub items: TokenSpan,
    /// Whether it could not be parsed.
    pub damaged: bool,
}

/// `spare tb pair 5 .. 12`
#[derive(Clone, Debug)]
pub struct Spare {
    /// Tokens that name the spare ports or pairs.
    pub items: TokenSpan,
}

/// State of pairs, stated separately from the runs that use them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PairState {
    /// Used by another service.
    Assigned,
    /// Unusable, for example open or grounded.
    Defective,
    /// Joined at both ends to carry one signal together.
    Bunched,
    /// Temporarily connected to a third wire, whose other end is not connected yet or no longer.
    Tapped,
}

impl PairState {
    /// All states, in the order of the reference.
    pub const ALL: [Self; 4] = [Self::Assigned, Self::Defective, Self::Bunched, Self::Tapped];

    /// Whether runs must not use such a pair.
    pub fn bars_runs(self) -> bool {
        matches!(self, Self::Assigned | Self::Defective)
    }

    /// Keyword that starts the statement.
    pub fn word(self) -> &'static str {
        match self {
            Self::Assigned => "assigned",
            Self::Defective => "defective",
            Self::Bunched => "bunched",
            Self::Tapped => "tapped",
        }
    }

    /// Word before the text that says for whom or why.
    pub fn joint(self) -> &'static str {
        match self {
            Self::Assigned => "to",
            Self::Defective | Self::Bunched | Self::Tapped => "because",
        }
    }
}

/// `assigned c101 pair 1 .. 30 to "subscribers"`, `defective c101 pair 31 because "open at mh-4"`
#[derive(Clone, Debug)]
pub struct PairStateStatement {
    /// What is stated about the pairs.
    pub state: PairState,
    /// Tokens that name the pairs, and say to whom they are assigned or what is wrong with them.
    pub items: TokenSpan,
}

/// `accept UNREADABLE on THING because "…" until DATE`
#[derive(Clone, Debug)]
pub struct Accept {
    /// Name of the rule whose result is accepted.
    pub rule: TokenId,
    /// Thing it is accepted on.
    pub on: TokenId,
    /// Reason, in quotes.
    pub because: TokenId,
    /// Last day on which the acceptance is valid.
    pub until: TokenId,
}

/// `reading DATE THING …`
#[derive(Clone, Debug)]
pub struct Reading {
    /// Date of the reading.
    pub date: TokenId,
    /// What was read, with the figures.
    pub items: TokenSpan,
}

/// `when d1 stops, v2 opens expect c101 above minimum, no alarm`
#[derive(Clone, Debug)]
pub struct When {
    /// Events, all at the same time.
    pub events: Vec<TokenSpan>,
    /// Expectations for that state.
    pub expected: Vec<TokenSpan>,
}

impl When {
    /// Events and expectations in order.
    pub fn clauses(&self) -> impl Iterator<Item = TokenSpan> + '_ {
        self.events.iter().chain(&self.expected).copied()
    }
}

impl Tree {
    /// Token of a word.
    #[expect(
        clippy::indexing_slicing,
        reason = "a word of another tree is a mistake in the program"
    )]
    pub fn token(&self, word: TokenId) -> Token {
        self.words[word.0 as usize]
    }

    /// Range of a word.
    pub fn range(&self, word: TokenId) -> TextRange {
        self.token(word).range
    }

    /// Range of a block from brace to brace.
    pub fn block_range(&self, block: &Block) -> TextRange {
        self.range(block.open).cover(self.range(block.close))
    }

    /// Range of a field from its name to its last value or brace.
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

    /// Tokens of some items.
    #[expect(
        clippy::indexing_slicing,
        reason = "items of another tree are a mistake in the program"
    )]
    pub fn items(&self, items: TokenSpan) -> &[Token] {
        &self.words[items.start as usize..items.end as usize]
    }

    /// Range of the token before some items, if there is one.
    pub fn range_before(&self, items: TokenSpan) -> Option<TextRange> {
        let before = (items.start as usize).checked_sub(1)?;
        self.words.get(before).map(|token| token.range)
    }

    /// From the first to the last of some items; if empty, the empty range before the next token.
    pub fn items_range(&self, items: TokenSpan) -> TextRange {
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
