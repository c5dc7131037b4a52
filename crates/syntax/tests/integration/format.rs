//! The formatter changes layout only, is idempotent, and works line by line.

mod layout;
mod properties;
mod shape;
mod texts;

use drysheath_syntax::{Token, TokenKind, Tree, format, lex, parse};
use drysheath_text::apply;

/// The example office of the rules.
const EXAMPLE: &str = include_str!("../../../../grammar/example.office");

/// The tokens other than blanks and line ends, comments without the blanks at their end.
fn solid(text: &str) -> Vec<(TokenKind, &str)> {
    let tokens = lex(text)
        .into_iter()
        .filter(|token| !matches!(token.kind, TokenKind::Space | TokenKind::Newline));
    tokens
        .map(|token| {
            let written = token.range.of(text);
            let comment = token.kind == TokenKind::Comment;
            (
                token.kind,
                if comment {
                    written.trim_end_matches([' ', '\t'])
                } else {
                    written
                },
            )
        })
        .collect()
}

/// The tokens of each line, from the first line to the last that has any.
fn lines(text: &str) -> Vec<Vec<(TokenKind, &str)>> {
    let mut lines: Vec<_> = text
        .split('\n')
        .map(|line| solid(line.strip_suffix('\r').unwrap_or(line)))
        .skip_while(Vec::is_empty)
        .collect();
    while lines.last().is_some_and(Vec::is_empty) {
        lines.pop();
    }
    lines
}

/// The lines with something that could not be read, or that belongs to no statement.
fn unread<'t>(text: &'t str, tree: &Tree) -> Vec<&'t str> {
    let read = |token: &Token| {
        let before = tree
            .statements
            .partition_point(|statement| statement.range.end <= token.range.start);
        let statement = tree.statements.get(before);
        statement.is_some_and(|statement| !statement.damaged && statement.range.contains(token.range))
    };
    let solid = |token: &&Token| !token.kind.is_trivia() && token.kind != TokenKind::Newline;
    let places = tree
        .tokens
        .iter()
        .filter(solid)
        .filter(|token| !read(token))
        .map(|token| token.range.start as usize);
    let mut starts: Vec<_> = places
        .map(|at| text[..at].rfind('\n').map_or(0, |newline| newline + 1))
        .collect();
    starts.dedup();
    let lines = starts
        .into_iter()
        .map(|start| text[start..].split('\n').next().unwrap());
    lines
        .map(|line| line.trim_start_matches('\u{feff}').trim_end_matches('\r'))
        .collect()
}

/// Formats `text` and checks whatever must hold of any text.
#[track_caller]
fn check(text: &str) -> String {
    let tree = parse(text);
    let edits = format(text, &tree);
    let out = apply(text, &edits).expect("edits that apply");
    let again = parse(&out);
    assert_eq!(lines(&out), lines(text), "tokens or lines of {text:?} became {out:?}");
    assert_eq!(format(&out, &again), [], "{text:?} became {out:?}");
    assert_eq!(unread(&out, &again), unread(text, &tree), "{text:?} became {out:?}");
    assert_eq!(
        shape::of(&out, &again),
        shape::of(text, &tree),
        "{text:?} became {out:?}"
    );
    for pair in edits.windows(2) {
        assert!(pair[0].range.end <= pair[1].range.start, "{pair:?}");
    }
    for edit in &edits {
        assert_ne!(edit.range.of(text), edit.replacement);
        let blank = |text: &str| {
            text.chars()
                .all(|char| matches!(char, ' ' | '\t' | '\r' | '\n' | '\u{feff}'))
        };
        assert!(blank(edit.range.of(text)) && blank(&edit.replacement), "{edit:?}");
    }
    assert!(
        out.trim_start_matches('\u{feff}').is_empty() || out.ends_with(['\n', '\r']),
        "{out:?}"
    );
    let blank_at_end = out
        .strip_suffix('\n')
        .is_some_and(|out| out.is_empty() || out.ends_with('\n'));
    assert!(!blank_at_end && !out.starts_with('\n'), "{out:?}");
    out
}
