use chumsky::Parser;
use chumsky::error::{EmptyErr, Rich};
use drysheath_text::TextRange;

use crate::explain::is_doubled;
use crate::split::{Piece, Split, split};
use crate::tree::{Block, Field, Items, Statement, StatementKind, Thing, Tree, Word};
use crate::{Problem, ProblemId, Token, TokenKind, explain, grammar, lex};

/// The largest text that is read, in bytes.
pub const LARGEST_TEXT: usize = 64 << 20;
/// The longest number that is read, in characters.
pub const LONGEST_NUMBER: u32 = 40;

/// Reads a text. This never fails: what cannot be read is among the tree's problems, and everything else keeps its meaning.
pub fn parse(text: &str) -> Tree {
    if text.len() > LARGEST_TEXT {
        let size = text.len().div_ceil(1 << 20);
        return Tree {
            problems: vec![
                Problem::new(
                    ProblemId::TextTooLarge,
                    TextRange::default(),
                    format!(
                        "this file has {size} MiB, and at most {} MiB are read",
                        LARGEST_TEXT >> 20
                    ),
                )
                .help("an office is a few hundred lines: is this the right file?"),
            ],
            ..Tree::default()
        };
    }
    let tokens = lex(text);
    let Split {
        words,
        pieces,
        mut problems,
    } = split(text, &tokens);
    let ends_open = pieces.last().is_some_and(|piece| piece.open_end);
    let mut statements = read(text, &words, &pieces, &mut problems);
    let damage = lexical_problems(text, &tokens, ends_open, &mut problems);
    problems.sort_by_key(|problem| (problem.range.start, problem.range.end));
    let places = problems.iter().map(|problem| problem.range.start).chain(damage);
    mark_lexical_damage(text, &mut statements, places);
    let cut = statements.last().is_some_and(|last| last.damaged);
    Tree {
        tokens,
        words,
        statements,
        problems,
        cut,
    }
}

/// The statements of the pieces that the words of a text are cut into.
pub(crate) fn read(text: &str, words: &[Token], pieces: &[Piece], problems: &mut Vec<Problem>) -> Vec<Statement> {
    let quick = grammar::statement::<EmptyErr>();
    let mut statements = Vec::with_capacity(pieces.len());
    for piece in pieces {
        let slice = words.get(piece.items.clone()).unwrap_or_default();
        let (mut kind, damaged) = match quick.parse(slice).into_result() {
            Ok(kind) => (kind, piece.damaged),
            Err(_) => (explain(text, slice, piece.damaged, problems), true),
        };
        if piece.open_end {
            kind.doubt_last_field();
        }
        statements.push(statement(slice, piece, kind, damaged));
    }
    statements
}

fn statement(slice: &[Token], piece: &Piece, mut kind: StatementKind, damaged: bool) -> Statement {
    let items = Items::new(piece.items.start, piece.items.end);
    kind.shift(items.start());
    let range = match slice {
        [] => TextRange::default(),
        [first, ..] => slice.iter().fold(first.range, |range, token| range.cover(token.range)),
    };
    Statement {
        kind,
        range,
        items,
        damaged,
    }
}

/// Reads a statement again, with the error type that can say what was expected.
fn explain(text: &str, slice: &[Token], repaired: bool, problems: &mut Vec<Problem>) -> StatementKind {
    let (kind, errors) = grammar::statement::<Rich<'_, Token>>()
        .parse(slice)
        .into_output_errors();
    let mut kind = kind.unwrap_or(StatementKind::Unreadable);
    // In `monitor monitor m1 { … }` the second word is no name.
    let (thing, first) = match &mut kind {
        StatementKind::Thing(thing) => (Some(thing), 0),
        StatementKind::Part(part) => (Some(part), 1),
        _ => (None, 0),
    };
    if let Some(thing) = thing.filter(|_| is_doubled(text, slice, first + 1))
        && slice.get(first + 2).is_some_and(|token| token.kind.is_word())
    {
        thing.name = Some(Word::new(first + 2));
    }
    // A repaired brace has been reported, and the rest of its statement is not worth a second result.
    if repaired {
        return kind;
    }
    if let Some(problem) = explain::first_word(text, slice) {
        problems.push(problem);
        return kind;
    }
    // Fields are read one by one; in everything else what follows a slip may be a consequence.
    let most = if matches!(kind, StatementKind::Thing(_) | StatementKind::Part(_)) {
        usize::MAX
    } else {
        1
    };
    let mut last = None;
    // A text that is not closed has taken the rest of its line with it, and is a problem itself.
    let after_open_text = |at: usize| {
        let before = at.checked_sub(1).and_then(|before| slice.get(before));
        before.is_some_and(|before| before.kind == TokenKind::OpenText)
    };
    let errors = errors.iter().filter(|error| !after_open_text(error.span().start));
    for error in errors.take(most) {
        let problem = explain::error(text, slice, error);
        if last != Some(problem.range) {
            last = Some(problem.range);
            problems.push(problem);
        }
    }
    kind
}

/// Reports what single tokens have wrong. Returns places that are damaged without a problem of their own.
fn lexical_problems(text: &str, tokens: &[Token], ends_open: bool, problems: &mut Vec<Problem>) -> Vec<u32> {
    let is_layout = |token: &Token| token.kind.is_trivia() || token.kind == TokenKind::Newline;
    let last = tokens
        .iter()
        .rfind(|token| !is_layout(token))
        .map(|token| token.range)
        .filter(|_| ends_open);
    // End of the word before a token, if that is on its line.
    let mut before = None;
    let mut ends: Vec<_> = problems.iter().map(|problem| problem.range.end).collect();
    ends.sort_unstable();
    let mut damage = Vec::new();
    let mut lone_return = None;
    for token in tokens {
        let follows_problem = before.is_some_and(|before| ends.binary_search(&before).is_ok());
        if !token.kind.is_trivia() {
            before = (token.kind != TokenKind::Newline).then_some(token.range.end);
        }
        match token.kind {
            // The block that the file ends in is a result already.
            TokenKind::OpenText | TokenKind::Unknown if last == Some(token.range) => {}
            // A file whose lines all end so has one result; each line is damaged all the same.
            TokenKind::Unknown if explain::is_lone_return(text, token.range) => {
                let alone = *lone_return.get_or_insert(token.range);
                if alone == token.range {
                    problems.push(explain::unknown(text, token.range));
                } else {
                    damage.push(token.range.start);
                }
            }
            // What is missing before it has been said: half of an arrow, a name that ends in a hyphen.
            TokenKind::Unknown if follows_problem => {}
            TokenKind::Unknown => problems.push(explain::unknown(text, token.range)),
            TokenKind::OpenText => problems.push(
                Problem::new(
                    ProblemId::StatementUnreadable,
                    token.range,
                    "this text has no closing quote on its line",
                )
                .help("put `\"` where the text ends"),
            ),
            TokenKind::Number if token.range.len() > LONGEST_NUMBER => problems.push(Problem::new(
                ProblemId::NumberTooLong,
                token.range,
                format!(
                    "this number has {} characters, and at most {LONGEST_NUMBER} are read",
                    token.range.len()
                ),
            )),
            _ => {}
        }
    }
    damage
}

/// A statement that a problem lies in, or right after it on its line, is damaged, whichever step found the problem.
fn mark_lexical_damage(text: &str, statements: &mut [Statement], places: impl Iterator<Item = u32>) {
    for place in places {
        let after = statements.partition_point(|statement| statement.range.start <= place);
        if let Some(statement) = after.checked_sub(1).and_then(|at| statements.get_mut(at))
            && !TextRange::new(statement.range.end, place).of(text).contains('\n')
        {
            statement.damaged = true;
        }
    }
}

impl StatementKind {
    /// The file ends inside this statement, so that its last field may be half of one.
    fn doubt_last_field(&mut self) {
        let (Self::Thing(thing) | Self::Part(thing)) = self else {
            return;
        };
        let mut block = thing.block.as_mut();
        while let Some(last) = block.and_then(|block| block.fields.last_mut()) {
            last.damaged = last.block.is_none();
            block = last.block.as_mut();
        }
    }

    /// Counts words from the start of the file instead of the statement's.
    fn shift(&mut self, by: u32) {
        match self {
            Self::Use(used) => shift_word(used.path.as_mut(), by),
            Self::Part(thing) | Self::Thing(thing) => thing.shift(by),
            Self::Run(run) => {
                let ends = run.ends.iter_mut().map(|end| &mut end.items);
                for items in ends.chain(&mut run.with) {
                    *items = items.shifted(by);
                }
            }
            Self::Spare(spare) => spare.items = spare.items.shifted(by),
            Self::Accept(accept) => {
                for word in [&mut accept.rule, &mut accept.on, &mut accept.because, &mut accept.until] {
                    *word = word.shifted(by);
                }
            }
            Self::Reading(reading) => {
                reading.date = reading.date.shifted(by);
                reading.items = reading.items.shifted(by);
            }
            Self::Unreadable => {}
        }
    }
}

impl Thing {
    fn shift(&mut self, by: u32) {
        for word in [&mut self.kind, &mut self.name, &mut self.part] {
            shift_word(word.as_mut(), by);
        }
        if let Some(block) = &mut self.block {
            block.shift(by);
        }
    }
}

impl Block {
    fn shift(&mut self, by: u32) {
        self.open = self.open.shifted(by);
        self.close = self.close.shifted(by);
        self.fields.iter_mut().for_each(|field| field.shift(by));
    }
}

impl Field {
    fn shift(&mut self, by: u32) {
        self.name = self.name.shifted(by);
        self.items = self.items.shifted(by);
        if let Some(block) = &mut self.block {
            block.shift(by);
        }
    }
}

fn shift_word(word: Option<&mut Word>, by: u32) {
    if let Some(word) = word {
        *word = word.shifted(by);
    }
}
