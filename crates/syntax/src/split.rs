//! Splits the tokens of a file into statements by braces and line ends before parsing, so that no mistake affects other
//! statements.

use std::ops::Range;

use drysheath_text::TextRange;

use crate::brace_repair::{self, Repaired};
use crate::{Problem, ProblemId, Token, TokenKind};

/// Maximum nesting depth of blocks. The language itself uses three levels.
pub const DEEPEST: u32 = 16;

/// Tokens of one statement.
pub(crate) struct StatementTokens {
    pub items: Range<usize>,
    pub damaged: bool,
    /// Whether the file ends inside it: its last token may be incomplete.
    pub open_end: bool,
}

/// Significant tokens of a file and the positions of its statements in them.
#[derive(Default)]
pub(crate) struct Split {
    pub words: Vec<Token>,
    pub pieces: Vec<StatementTokens>,
    pub problems: Vec<Problem>,
}

/// Splits the tokens of a file. Those in `left_out` are skipped.
pub(crate) fn split(text: &str, tokens: &[Token], left_out: &[TextRange]) -> Split {
    let mut out = Split {
        words: Vec::with_capacity(tokens.len() * 2 / 3),
        ..Split::default()
    };
    let significant = significant(tokens, left_out);
    if balanced(&significant) {
        cut(text, &significant, &mut out, false);
    } else {
        // A brace is missing or surplus. A line with a word at the margin starts a statement, since the formatter
        // writes it that way; this confines the damage to one statement.
        let mut rest = significant.as_slice();
        while !rest.is_empty() {
            let end = (1..rest.len())
                .find(|at| rest.get(*at).is_some_and(|token| begins_at_margin(text, *token)))
                .unwrap_or(rest.len());
            let (chunk, after) = rest.split_at(end);
            if balanced(chunk) {
                cut(text, chunk, &mut out, false);
            } else {
                let Repaired { words, problems, open } = brace_repair::repair(text, chunk);
                out.problems.extend(problems);
                cut(text, &words, &mut out, true);
                if let Some(last) = out.pieces.last_mut().filter(|_| open && after.is_empty()) {
                    last.open_end = true;
                }
            }
            rest = after;
        }
    }
    out
}

/// Significant tokens outside `left_out`. Of several consecutive line ends only one is kept.
pub(crate) fn significant(tokens: &[Token], left_out: &[TextRange]) -> Vec<Token> {
    let is_left_out = |token: &Token| {
        left_out
            .iter()
            .any(|range| range.start <= token.range.start && token.range.end <= range.end)
    };
    let mut out: Vec<Token> = Vec::with_capacity(tokens.len());
    let mut after_line_end = true;
    for token in tokens {
        let means_something = match token.kind {
            TokenKind::Space | TokenKind::Comment | TokenKind::Unknown | TokenKind::MergeMarker => false,
            TokenKind::Newline => !after_line_end,
            _ => true,
        };
        if means_something && (left_out.is_empty() || !is_left_out(token)) {
            after_line_end = token.kind == TokenKind::Newline;
            out.push(*token);
        }
    }
    out
}

fn balanced(tokens: &[Token]) -> bool {
    let mut depth = 0_u32;
    for token in tokens {
        match token.kind {
            TokenKind::OpenBrace => depth += 1,
            TokenKind::CloseBrace if depth == 0 => return false,
            TokenKind::CloseBrace => depth -= 1,
            _ => {}
        }
    }
    depth == 0
}

fn begins_at_margin(text: &str, token: Token) -> bool {
    let before = text.as_bytes().get(..token.range.start as usize).unwrap_or_default();
    token.kind.is_word() && (matches!(before.last(), None | Some(b'\n')) || before == "\u{feff}".as_bytes())
}

/// Whether a line must start a new statement although the line above is incomplete, because a run is being written
/// there.
fn begins_statement(text: &str, line: &[Token]) -> bool {
    let Some(first) = line.first().filter(|first| begins_at_margin(text, **first)) else {
        return false;
    };
    let mut rest = line.iter().skip(1).map(|token| token.kind);
    let is_named = rest.next().is_some_and(TokenKind::is_word);
    first.kind.starts_statement() || (is_named && matches!(rest.next(), Some(TokenKind::Colon | TokenKind::OpenBrace)))
}

/// Splits tokens with balanced braces into statements, omitting line ends that separate nothing.
pub(crate) fn cut(text: &str, tokens: &[Token], out: &mut Split, damaged: bool) {
    let mut depth = 0;
    let mut start = out.words.len();
    let mut too_deep: Option<TextRange> = None;
    // First token not yet copied to the words: they are copied in batches.
    let mut copied = 0;
    for (at, token) in tokens.iter().enumerate() {
        let next = || tokens.get(at + 1).map(|next| next.kind);
        let mut ends = at + 1 == tokens.len();
        let mut is_word = true;
        match token.kind {
            TokenKind::OpenBrace => {
                depth += 1;
                if depth > DEEPEST && too_deep.is_none() {
                    too_deep = Some(token.range);
                }
            }
            TokenKind::CloseBrace => {
                depth -= 1;
                ends |= depth == 0;
            }
            TokenKind::Newline if next() == Some(TokenKind::OpenBrace) => is_word = false,
            TokenKind::Newline if depth > 0 => {}
            TokenKind::Newline => {
                is_word = false;
                let before = if copied < at {
                    tokens.get(at - 1)
                } else {
                    out.words.last()
                };
                let continued = matches!(
                    next(),
                    Some(TokenKind::Arrow | TokenKind::With | TokenKind::Then | TokenKind::Expect)
                ) || matches!(
                    before.map(|last| last.kind),
                    Some(TokenKind::Arrow | TokenKind::With | TokenKind::Then | TokenKind::Expect | TokenKind::Comma)
                );
                ends |= !continued || begins_statement(text, tokens.get(at + 1..).unwrap_or_default());
            }
            _ => {}
        }
        if ends || !is_word {
            let rest = tokens.get(copied..at + usize::from(is_word));
            out.words.extend_from_slice(rest.unwrap_or_default());
            copied = at + 1;
        }
        if ends {
            let end = out.words.len();
            if end > start {
                if let Some(range) = too_deep.take() {
                    out.problems.push(
                        Problem::new(
                            ProblemId::NestingTooDeep,
                            range,
                            format!("blocks nest more than {DEEPEST} deep, so this statement is not read"),
                        )
                        .help("a block inside a block inside a thing is as deep as the language goes"),
                    );
                    out.words.truncate(start);
                } else {
                    out.pieces.push(StatementTokens {
                        items: start..end,
                        damaged,
                        open_end: false,
                    });
                }
            }
            start = out.words.len();
        }
    }
}
