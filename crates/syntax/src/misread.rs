//! Tokens that the writer meant differently: the inch mark in `3/8" tube`, the comma in `1,020 ft`, the `#` in `#6
//! awg`. Taken as a text, a separator and a comment, they would swallow what follows them, partly without a message.

use crate::{Token, TokenKind};

/// Whether the first character of the token of `kind` at `start`, which follows `before`, is meant differently.
#[inline]
pub(crate) fn is_misread(text: &str, before: &[Token], kind: TokenKind, start: usize) -> bool {
    // Runs for every token, and nearly all are of other kinds.
    let may_be = match kind {
        // Only a pasted sign is not ASCII.
        TokenKind::Number => text.as_bytes().get(start).is_some_and(|first| !first.is_ascii()),
        _ => matches!(
            kind,
            TokenKind::Text | TokenKind::OpenText | TokenKind::Comma | TokenKind::Comment
        ),
    };
    may_be && means_something_else(text, before, kind, start)
}

fn means_something_else(text: &str, before: &[Token], kind: TokenKind, start: usize) -> bool {
    match kind {
        TokenKind::Text | TokenKind::OpenText => follows_number(before, start),
        // A pasted dash in a name or a range is not a sign.
        TokenKind::Number => {
            let touching = before.last().filter(|last| last.range.end as usize == start);
            touching.is_some_and(|last| last.kind.is_word() || matches!(last.kind, TokenKind::Number | TokenKind::Date))
        }
        TokenKind::Comma => {
            let next = text.as_bytes().get(start + 1);
            follows_number(before, start) && next.is_some_and(u8::is_ascii_digit)
        }
        TokenKind::Comment => is_wire_size(text.get(start + 1..).unwrap_or_default()) && expects_size(before),
        _ => false,
    }
}

/// Whether a number ends directly before `start`.
fn follows_number(before: &[Token], start: usize) -> bool {
    let last = before.last().filter(|last| last.kind == TokenKind::Number);
    last.is_some_and(|last| last.range.end as usize == start)
}

/// Whether a comment looks like a wire size, without further text that only a comment has: `#14`, `#6 awg, 3 m`.
fn is_wire_size(comment: &str) -> bool {
    const MOST_DIGITS: usize = 2;
    let rest = comment.trim_start_matches(|char: char| char.is_ascii_digit());
    if !(1..=MOST_DIGITS).contains(&(comment.len() - rest.len())) {
        return false;
    }
    let rest = rest.strip_prefix("/0").unwrap_or(rest).trim_start_matches([' ', '\t']);
    let unit = ["awg", "AWG", "gauge", "ga"]
        .iter()
        .find_map(|unit| rest.strip_prefix(unit));
    let rest = unit.unwrap_or(rest).trim_start_matches([' ', '\t']);
    rest.is_empty() || rest.starts_with([',', '}', '\r', '\n'])
}

/// Whether a wire size is possible here: after the name of a field, after a comma, or in the sizes of a run.
fn expects_size(before: &[Token]) -> bool {
    let mut line = before
        .iter()
        .rev()
        .filter(|token| token.kind != TokenKind::Space)
        .map(|token| token.kind);
    match line.next() {
        None | Some(TokenKind::Newline) => false,
        Some(TokenKind::Comma | TokenKind::With | TokenKind::Then) => true,
        Some(TokenKind::Word) if line.clone().next().is_none_or(separates) => true,
        Some(_) => line
            .take_while(|kind| *kind != TokenKind::Newline)
            .any(|kind| matches!(kind, TokenKind::With | TokenKind::Then)),
    }
}

fn separates(kind: TokenKind) -> bool {
    matches!(kind, TokenKind::Newline | TokenKind::Comma | TokenKind::OpenBrace)
}
