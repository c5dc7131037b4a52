use chumsky::Parser;
use chumsky::error::{EmptyErr, Rich};
use drysheath_text::TextRange;

use crate::error_message::is_doubled;
use crate::lexical::{LexicalProblems, is_suspect, statement_at};
use crate::merge_markers::MergeConflicts;
use crate::pasted::{invisible, is_plain, read_as_meant};
use crate::split::{Split, StatementTokens, split};
use crate::tree::{Block, Field, Statement, StatementKind, Thing, TokenId, TokenSpan, Tree};
use crate::{Problem, ProblemId, Token, TokenKind, error_message, grammar, lex};

/// Maximum size of a text, in bytes.
pub const LARGEST_TEXT: usize = 64 << 20;
/// Maximum length of a number, in characters.
pub const LONGEST_NUMBER: u32 = 40;

/// Parses a text. This never fails: unreadable parts become problems of the tree, and the rest keeps its meaning.
pub fn parse(text: &str) -> Tree {
    parse_all(&[text]).pop().unwrap_or_default()
}

/// Parses several texts, each step for all of them before the next step. This is faster than one after the other, since
/// the code of a step stays in the processor cache.
pub fn parse_all(texts: &[&str]) -> Vec<Tree> {
    let is_too_large = |text: &str| text.len() > LARGEST_TEXT;
    let lexed = texts
        .iter()
        .map(|text| if is_too_large(text) { Vec::new() } else { lex(text) });
    let lexed: Vec<Vec<Token>> = lexed.collect();
    let tree = |(text, tokens): (&&str, Vec<Token>)| {
        if is_too_large(text) {
            too_large(text)
        } else {
            tree(text, tokens)
        }
    };
    texts.iter().zip(lexed).map(tree).collect()
}

fn too_large(text: &str) -> Tree {
    let size = text.len().div_ceil(1 << 20);
    let most = LARGEST_TEXT >> 20;
    let message = format!("this file has {size} MiB, and at most {most} MiB are read");
    let problem = Problem::new(ProblemId::TextTooLarge, TextRange::default(), message);
    Tree {
        problems: vec![problem.help("an office is a few hundred lines: is this the right file?")],
        ..Tree::default()
    }
}

/// Builds the tree from the tokens of a text.
fn tree(text: &str, tokens: Vec<Token>) -> Tree {
    let has_suspects = tokens.iter().any(is_suspect);
    let merges = if has_suspects {
        MergeConflicts::find(text, &tokens)
    } else {
        MergeConflicts::default()
    };
    let Split {
        words,
        pieces,
        mut problems,
    } = split(text, &tokens, &merges.left_out);
    let ends_open = pieces.last().is_some_and(|piece| piece.open_end);
    let mut of_grammar = Vec::new();
    let mut statements = read(text, &words, &pieces, &mut of_grammar);
    let is_layout = |token: &Token| token.kind.is_trivia() || token.kind == TokenKind::Newline;
    let last = tokens.iter().rfind(|token| !is_layout(token)).map(|token| token.range);
    let lexical = if has_suspects {
        LexicalProblems::find(text, &tokens, &statements, last.filter(|_| ends_open))
    } else {
        LexicalProblems::default()
    };
    of_grammar.retain(|problem| !lexical.explains(problem));
    problems.extend(of_grammar);
    let too_long = lexical
        .problems
        .iter()
        .filter(|problem| problem.id == ProblemId::NumberTooLong);
    let fields = lexical
        .damage
        .iter()
        .copied()
        .chain(too_long.map(|problem| problem.range.start));
    mark_damaged_fields(text, &words, &mut statements, fields);
    problems.extend(lexical.problems);
    problems.extend(merges.stray);
    let has_conflict = !merges.conflicts.is_empty();
    if has_conflict {
        // Until one of the versions is chosen, all other problems may be consequences.
        problems = merges.conflicts;
    }
    problems.sort_by_key(|problem| (problem.range.start, problem.range.end));
    let places = problems.iter().map(|problem| problem.range.start).chain(lexical.damage);
    mark_damage(text, &mut statements, places);
    let strange = if has_conflict || is_plain(text) {
        [None, None]
    } else {
        [read_as_meant(text, &tokens), invisible(text, &tokens)]
    };
    let understood = problems.len();
    // They are understood and damage nothing.
    problems.extend(strange.into_iter().flatten());
    if problems.len() > understood {
        problems.sort_by_key(|problem| (problem.range.start, problem.range.end));
    }
    let cut = has_conflict || statements.last().is_some_and(|last| last.damaged);
    Tree {
        tokens,
        words,
        statements,
        problems,
        cut,
    }
}

/// Parses the statements of the pieces that the words of a text were split into.
pub(crate) fn read(
    text: &str,
    words: &[Token],
    pieces: &[StatementTokens],
    problems: &mut Vec<Problem>,
) -> Vec<Statement> {
    let quick = grammar::statement::<EmptyErr>();
    let mut statements = Vec::with_capacity(pieces.len());
    for piece in pieces {
        let slice = words.get(piece.items.clone()).unwrap_or_default();
        let (mut kind, damaged) = match quick.parse(slice).into_result() {
            Ok(kind) => (kind, piece.damaged),
            Err(_) => (explain(text, slice, piece.damaged, problems), true),
        };
        if piece.open_end {
            kind.mark_last_field_damaged();
        }
        statements.push(statement(slice, piece, kind, damaged));
    }
    statements
}

fn statement(slice: &[Token], piece: &StatementTokens, mut kind: StatementKind, damaged: bool) -> Statement {
    let items = TokenSpan::new(piece.items.start, piece.items.end);
    kind.shift(items.start());
    let range = match slice {
        [] => TextRange::default(),
        [only] => only.range,
        [first, .., last] => first.range.cover(last.range),
    };
    Statement {
        kind,
        range,
        items,
        damaged,
    }
}

/// Parses a statement again, with the error type that records what was expected.
fn explain(text: &str, slice: &[Token], repaired: bool, problems: &mut Vec<Problem>) -> StatementKind {
    let (kind, errors) = grammar::statement::<Rich<'_, Token>>()
        .parse(slice)
        .into_output_errors();
    let mut kind = kind.unwrap_or(StatementKind::Unreadable);
    // In `monitor monitor m1 { … }` the second word is not a name.
    let (thing, first) = match &mut kind {
        StatementKind::Thing(thing) => (Some(thing), 0),
        StatementKind::Part(part) => (Some(part), 1),
        _ => (None, 0),
    };
    if let Some(thing) = thing.filter(|_| is_doubled(text, slice, first + 1))
        && slice.get(first + 2).is_some_and(|token| token.kind.is_word())
    {
        thing.name = Some(TokenId::new(first + 2));
    }
    // The repaired brace has been reported; a second result on the statement is not useful.
    if repaired {
        return kind;
    }
    if let Some(problem) = error_message::first_word(text, slice) {
        problems.push(problem);
        return kind;
    }
    // Fields are parsed one by one; elsewhere, later errors may be consequences of the first.
    let most = if matches!(kind, StatementKind::Thing(_) | StatementKind::Part(_)) {
        usize::MAX
    } else {
        1
    };
    let mut last = None;
    // An unterminated text has swallowed the rest of its line and is reported separately.
    let after_open_text = |at: usize| {
        let before = at.checked_sub(1).and_then(|before| slice.get(before));
        before.is_some_and(|before| before.kind == TokenKind::OpenText)
    };
    let errors = errors.iter().filter(|error| !after_open_text(error.span().start));
    for error in errors.take(most) {
        let problem = error_message::error(text, slice, error);
        if last != Some(problem.range) {
            last = Some(problem.range);
            problems.push(problem);
        }
    }
    kind
}

/// Marks the statement that contains each problem, or precedes it on the line, as damaged, whichever step found the
/// problem.
fn mark_damage(text: &str, statements: &mut [Statement], places: impl Iterator<Item = u32>) {
    for place in places {
        if let Some(statement) = statement_at(text, statements, place).and_then(|at| statements.get_mut(at)) {
            statement.damaged = true;
        }
    }
}

/// Marks fields that contain an unreadable character: without that character they would have another meaning.
fn mark_damaged_fields(text: &str, words: &[Token], statements: &mut [Statement], places: impl Iterator<Item = u32>) {
    for place in places {
        let at = statement_at(text, statements, place);
        if let Some(statement) = at.and_then(|at| statements.get_mut(at))
            && let StatementKind::Thing(thing) | StatementKind::Part(thing) = &mut statement.kind
            && let Some(block) = &mut thing.block
        {
            block.mark_field_damaged_at(text, words, place);
        }
    }
}

impl StatementKind {
    /// The file ends inside this statement, so its last field may be incomplete.
    fn mark_last_field_damaged(&mut self) {
        let (Self::Thing(thing) | Self::Part(thing)) = self else {
            return;
        };
        let mut block = thing.block.as_mut();
        while let Some(last) = block.and_then(|block| block.fields.last_mut()) {
            last.damaged = last.block.is_none();
            block = last.block.as_mut();
        }
    }

    /// Adds `by` to all word indices, to make them relative to the file instead of the statement.
    pub(crate) fn shift(&mut self, by: u32) {
        match self {
            Self::Use(used) => shift_word(used.path.as_mut(), by),
            Self::Part(thing) | Self::Thing(thing) => thing.shift(by),
            Self::Run(run) => {
                let ends = run.ends.iter_mut().map(|end| &mut end.items);
                let then = run.then.iter_mut().flatten();
                for items in ends.chain(&mut run.with).chain(then) {
                    *items = items.shifted(by);
                }
            }
            Self::Spare(spare) => spare.items = spare.items.shifted(by),
            Self::Pairs(stated) => stated.items = stated.items.shifted(by),
            Self::Accept(accept) => {
                for word in [&mut accept.rule, &mut accept.on, &mut accept.because, &mut accept.until] {
                    *word = word.shifted(by);
                }
            }
            Self::Reading(reading) => {
                reading.date = reading.date.shifted(by);
                reading.items = reading.items.shifted(by);
            }
            Self::When(when) => {
                for items in when.events.iter_mut().chain(&mut when.expected) {
                    *items = items.shifted(by);
                }
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
    /// Marks the field that contains `place`, or whose value ends before it with nothing between that ends a field.
    fn mark_field_damaged_at(&mut self, text: &str, words: &[Token], place: u32) {
        let range = |word: TokenId| {
            words
                .get(word.number())
                .map_or(TextRange::default(), |token| token.range)
        };
        let before = |field: &&mut Field| range(field.name).start <= place;
        let Some(field) = self.fields.iter_mut().rfind(before) else {
            return;
        };
        if let Some(block) = &mut field.block
            && range(block.open).start < place
        {
            block.mark_field_damaged_at(text, words, place);
            return;
        }
        let items = words.get(field.items.numbers()).and_then(<[Token]>::last);
        let end = items.map_or(range(field.name).end, |last| last.range.end);
        field.damaged |= end > place || !TextRange::new(end, place).of(text).contains(['\n', ',', '}']);
    }

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

fn shift_word(word: Option<&mut TokenId>, by: u32) {
    if let Some(word) = word {
        *word = word.shifted(by);
    }
}
