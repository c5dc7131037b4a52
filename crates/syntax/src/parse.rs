use chumsky::Parser;
use chumsky::error::{EmptyErr, Rich, RichPattern, RichReason};
use drysheath_text::TextRange;

use crate::split::{Piece, Pieces, split};
use crate::tree::{Block, Field, Items, Statement, StatementKind, Thing, Tree, Word};
use crate::{Fix, Problem, Token, TokenKind, grammar, lex};

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
                    "text-too-large",
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
    let Pieces {
        words,
        pieces,
        mut problems,
    } = split(text, &tokens);
    lexical_problems(text, &tokens, &mut problems);
    let mut statements = read(text, &words, &pieces, &mut problems);
    problems.sort_by_key(|problem| (problem.range.start, problem.range.end));
    mark_lexical_damage(&mut statements, &problems);
    Tree {
        tokens,
        words,
        statements,
        problems,
    }
}

fn read(text: &str, words: &[Token], pieces: &[Piece], problems: &mut Vec<Problem>) -> Vec<Statement> {
    let quick = grammar::statement::<EmptyErr>();
    let mut statements = Vec::with_capacity(pieces.len());
    for piece in pieces {
        let slice = words
            .get(piece.items.start as usize..piece.items.end as usize)
            .unwrap_or_default();
        let (kind, damaged) = match quick.parse(slice).into_result() {
            Ok(kind) => (kind, piece.damaged),
            Err(_) => (explain(text, slice, piece.damaged, problems), true),
        };
        statements.push(statement(slice, piece, kind, damaged));
    }
    statements
}

fn statement(slice: &[Token], piece: &Piece, mut kind: StatementKind, damaged: bool) -> Statement {
    kind.shift(piece.items.start);
    let range = match slice {
        [] => TextRange::default(),
        [first, ..] => slice.iter().fold(first.range, |range, token| range.cover(token.range)),
    };
    Statement {
        kind,
        range,
        items: piece.items.clone(),
        damaged,
    }
}

/// Reads a statement again, with the error type that can say what was expected.
fn explain(text: &str, slice: &[Token], repaired: bool, problems: &mut Vec<Problem>) -> StatementKind {
    let (kind, errors) = grammar::statement::<Rich<'_, Token>>()
        .parse(slice)
        .into_output_errors();
    // A repaired brace has been reported, and the rest of its statement is not worth a second result.
    if !repaired {
        let mut last = None;
        for error in errors {
            let problem = describe(text, slice, &error);
            if last != Some(problem.range) {
                last = Some(problem.range);
                problems.push(problem);
            }
        }
    }
    kind.unwrap_or(StatementKind::Unreadable)
}

fn describe(text: &str, slice: &[Token], error: &Rich<'_, Token>) -> Problem {
    const RULE: &str = "statement-unreadable";
    let at = error.span().start;
    let found = slice
        .get(at)
        .filter(|token| !token.range.is_empty() && token.kind != TokenKind::Newline);
    let expected = expected(error);
    let wanted = match expected.as_slice() {
        [] => String::from("nothing more belongs in this statement"),
        [only] => format!("{only} is expected"),
        [first @ .., last] => format!("{} or {last} is expected", first.join(", ")),
    };
    let starts_wrong = at == 0 && slice.len() > 1;
    match found {
        Some(_) if starts_wrong => Problem::new(
            RULE,
            found.map_or(TextRange::default(), |token| token.range),
            "no statement starts like this",
        )
        .help("start with a kind of thing, with `air`, `wire`, `power` or `ground`, or with `use`, `part`, `spare` or `accept`"),
        Some(token) => Problem::new(
            RULE,
            token.range,
            format!("{} cannot stand here: {wanted}", shown(token.range.of(text))),
        ),
        None => {
            let after = slice.get(..at.min(slice.len())).and_then(<[Token]>::last).map_or(TextRange::default(), |token| token.range);
            let problem = Problem::new(RULE, after, format!("something is missing after this: {wanted}"));
            match expected.as_slice() {
                [only] if only.starts_with('`') => {
                    let insert = format!(" {}", only.trim_matches('`'));
                    problem.fix(Fix::replace(TextRange::empty(after.end), insert, format!("Put {only} here")))
                }
                _ => problem,
            }
        }
    }
}

fn shown(found: &str) -> String {
    const LONGEST: usize = 40;
    if found.chars().count() > LONGEST {
        format!("`{}…`", found.chars().take(LONGEST).collect::<String>())
    } else {
        format!("`{found}`")
    }
}

fn expected(error: &Rich<'_, Token>) -> Vec<String> {
    let RichReason::ExpectedFound { expected, .. } = error.reason() else {
        return Vec::new();
    };
    let mut names: Vec<String> = expected
        .iter()
        .filter_map(|pattern| match pattern {
            RichPattern::Label(label) => Some(label.to_string()),
            RichPattern::EndOfInput => Some("the end of the line".to_owned()),
            _ => None,
        })
        .collect();
    names.sort();
    names.dedup();
    names
}

fn lexical_problems(text: &str, tokens: &[Token], problems: &mut Vec<Problem>) {
    for token in tokens {
        match token.kind {
            TokenKind::Unknown => problems.push(
                Problem::new(
                    "statement-unreadable",
                    token.range,
                    format!(
                        "{} has no meaning here",
                        shown(&token.range.of(text).escape_debug().to_string())
                    ),
                )
                .help("names are letters, digits, `-` and `_`; anything else goes into quotes or after `#`"),
            ),
            TokenKind::OpenText => problems.push(
                Problem::new(
                    "statement-unreadable",
                    token.range,
                    "this text has no closing quote on its line",
                )
                .help("put `\"` where the text ends"),
            ),
            TokenKind::Number if token.range.len() > LONGEST_NUMBER => problems.push(Problem::new(
                "number-too-long",
                token.range,
                format!(
                    "this number has {} characters, and at most {LONGEST_NUMBER} are read",
                    token.range.len()
                ),
            )),
            _ => {}
        }
    }
}

/// A statement that a problem lies in is damaged, whoever found the problem.
fn mark_lexical_damage(statements: &mut [Statement], problems: &[Problem]) {
    for problem in problems {
        let after = statements.partition_point(|statement| statement.range.start <= problem.range.start);
        if let Some(statement) = after.checked_sub(1).and_then(|at| statements.get_mut(at))
            && problem.range.start <= statement.range.end
        {
            statement.damaged = true;
        }
    }
}

impl StatementKind {
    /// Counts words from the start of the file instead of the statement's.
    fn shift(&mut self, by: u32) {
        match self {
            Self::Use(it) => shift_word(it.path.as_mut(), by),
            Self::Part(thing) | Self::Thing(thing) => thing.shift(by),
            Self::Run(run) => {
                run.ends.iter_mut().for_each(|end| shift_items(&mut end.items, by));
                run.with.iter_mut().for_each(|items| shift_items(items, by));
            }
            Self::Spare(spare) => shift_items(&mut spare.items, by),
            Self::Accept(accept) => {
                for word in [&mut accept.rule, &mut accept.on, &mut accept.because, &mut accept.until] {
                    *word += by;
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
    fn shift(&mut self, by: u32) {
        self.open += by;
        self.fields.iter_mut().for_each(|field| field.shift(by));
    }
}

impl Field {
    fn shift(&mut self, by: u32) {
        self.name += by;
        shift_items(&mut self.items, by);
        if let Some(block) = &mut self.block {
            block.shift(by);
        }
    }
}

fn shift_word(word: Option<&mut Word>, by: u32) {
    if let Some(word) = word {
        *word += by;
    }
}

fn shift_items(items: &mut Items, by: u32) {
    items.start += by;
    items.end += by;
}
