//! Incremental parsing after an edit: only the statements around the edit are parsed; the others are reused.
//!
//! This is possible if both texts parse without problems: then a statement depends only on itself and the line after
//! it. The part parsed again begins and ends with a statement that the edit has not touched; if those are unchanged, so
//! is everything beyond them. In all other cases the whole text is parsed.

use drysheath_text::TextRange;

use crate::Token;
use crate::parse::{LARGEST_TEXT, parse};
use crate::tree::{Statement, Tree};

/// Parses `text`, given an earlier text `old` and its tree `before`. The result is the same as of [`parse`].
pub fn reparse(before: &Tree, old: &str, text: &str) -> Tree {
    around_edit(before, old, text).unwrap_or_else(|| parse(text))
}

fn around_edit(before: &Tree, old: &str, text: &str) -> Option<Tree> {
    if !is_understood(before) || text.len() > LARGEST_TEXT {
        return None;
    }
    let statements = &before.statements;
    let prefix = common_prefix(old.as_bytes(), text.as_bytes());
    let suffix = common_suffix(old.as_bytes().get(prefix..)?, text.as_bytes().get(prefix..)?);
    let (edit_start, edit_end) = (prefix as u32, (old.len() - suffix) as u32);
    // One statement before the edit is parsed too. It must start a line, as the first statement of a text does.
    let touched = statements.partition_point(|statement| statement.range.end < edit_start);
    let starts_line = |at: &usize| {
        let start = statements.get(*at).map(|statement| statement.range.start as usize);
        start.is_some_and(|start| start == 0 || old.as_bytes().get(start - 1) == Some(&b'\n'))
    };
    let first = (0..touched).rev().find(starts_line);
    // And one statement after it, if there is one.
    let last = statements.partition_point(|statement| statement.range.start <= edit_end) + 1;
    let (from, to) = (first.unwrap_or(0), last.min(statements.len()));
    let start = first
        .and_then(|first| statements.get(first))
        .map_or(0, |first| first.range.start);
    let old_end = statements.get(to).map_or(old.len() as u32, |next| next.range.start);
    let moved = (text.len() as u32).wrapping_sub(old.len() as u32);
    let window = text.get(start as usize..old_end.wrapping_add(moved) as usize)?;
    let read = parse(window);
    let is_kept = |now: Option<&Statement>, was: Option<&Statement>, by: u32| {
        let (now, was) = now.zip(was)?;
        let is_same = shifted(now.range, start) == shifted(was.range, by) && now.items.count() == was.items.count();
        is_same.then_some(())
    };
    if !is_understood(&read) {
        return None;
    }
    if first.is_some() {
        is_kept(read.statements.first(), statements.get(from), 0)?;
    }
    if to < statements.len() {
        is_kept(
            read.statements.last(),
            to.checked_sub(1).and_then(|at| statements.get(at)),
            moved,
        )?;
    }
    let behind = statements
        .get(to)
        .map_or(before.words.len(), |next| next.items.numbers().start);
    let ahead = statements.get(from).map_or(behind, |first| first.items.numbers().start);
    let words = around(&before.words, (ahead, &read.words, behind), (start, moved));
    let token_at = |at: u32| before.tokens.partition_point(|token| token.range.start < at);
    let tokens = around(
        &before.tokens,
        (token_at(start), &read.tokens, token_at(old_end)),
        (start, moved),
    );
    let mut all = Vec::with_capacity(statements.len() + read.statements.len());
    all.extend_from_slice(statements.get(..from)?);
    all.extend(read.statements.into_iter().map(|it| moved_by(it, start, ahead as u32)));
    let more = (words.len() as u32).wrapping_sub(before.words.len() as u32);
    let rest = statements.get(to..)?.iter().cloned();
    all.extend(rest.map(|statement| moved_by(statement, moved, more)));
    Some(Tree {
        tokens,
        words,
        statements: all,
        problems: Vec::new(),
        cut: false,
    })
}

/// Whether a text was parsed without problems.
fn is_understood(tree: &Tree) -> bool {
    let is_whole = |statement: &Statement| !statement.damaged;
    tree.problems.is_empty() && !tree.cut && !tree.statements.is_empty() && tree.statements.iter().all(is_whole)
}

/// Joins the tokens before the part parsed again, those of the part itself, which starts at byte `start`, and those
/// after it, which have moved by `moved`.
fn around(before: &[Token], (ahead, read, behind): (usize, &[Token], usize), (start, moved): (u32, u32)) -> Vec<Token> {
    let moved_by = |by: u32| {
        move |token: &Token| Token {
            range: shifted(token.range, by),
            ..*token
        }
    };
    let (ahead, behind) = (
        before.get(..ahead).unwrap_or_default(),
        before.get(behind..).unwrap_or_default(),
    );
    let mut all = Vec::with_capacity(ahead.len() + read.len() + behind.len());
    all.extend_from_slice(ahead);
    all.extend(read.iter().map(moved_by(start)));
    all.extend(behind.iter().map(moved_by(moved)));
    all
}

fn moved_by(mut statement: Statement, bytes: u32, words: u32) -> Statement {
    statement.kind.shift(words);
    Statement {
        range: shifted(statement.range, bytes),
        items: statement.items.shifted(words),
        ..statement
    }
}

/// Range moved by `by` bytes. A negative offset is passed as a wrapped value.
fn shifted(range: TextRange, by: u32) -> TextRange {
    TextRange {
        start: range.start.wrapping_add(by),
        end: range.end.wrapping_add(by),
    }
}

/// Number of bytes compared at once.
const BLOCK: usize = 256;

fn common_prefix(one: &[u8], other: &[u8]) -> usize {
    let blocks = one.chunks_exact(BLOCK).zip(other.chunks_exact(BLOCK));
    let same = BLOCK * blocks.take_while(|(one, other)| one == other).count();
    let rest = one.iter().skip(same).zip(other.iter().skip(same));
    same + rest.take_while(|(one, other)| one == other).count()
}

fn common_suffix(one: &[u8], other: &[u8]) -> usize {
    let blocks = one.rchunks_exact(BLOCK).zip(other.rchunks_exact(BLOCK));
    let same = BLOCK * blocks.take_while(|(one, other)| one == other).count();
    let rest = one.iter().rev().skip(same).zip(other.iter().rev().skip(same));
    same + rest.take_while(|(one, other)| one == other).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "# An office.
office a { title \"A\" }
  dryer d1 { delivers 10 psi } regulator r1 {
    set 5 psi
    # deep
}

air d1
    -> r1
    -> c1
cable c1 { pairs 25 }
air c1 -> f1 with 3/8 in tube,
    2 m
spare c1 pair 2 .. 25
";

    /// Inserted texts: they end, begin or join statements, or are unreadable.
    const PIECES: [&str; 18] = [
        "7",
        " ",
        "\n",
        "{",
        "}",
        "\n}\n",
        "-> ",
        "with ",
        ",",
        "\"",
        "#",
        "air ",
        "\n\n",
        "use x\n",
        "dryer d9 { }",
        "é",
        "\r\n",
        "\u{feff}",
    ];

    #[test]
    fn a_text_reads_the_same_whatever_it_was_before() {
        assert!(is_understood(&parse(TEXT)));
        let mut around = 0;
        for at in 0..=TEXT.len() {
            for taken in [0, 1, 30] {
                for piece in PIECES {
                    let end = (at + taken).min(TEXT.len());
                    let text = format!("{}{piece}{}", &TEXT[..at], &TEXT[end..]);
                    for (old, new) in [(TEXT, &*text), (&*text, TEXT)] {
                        let before = parse(old);
                        around += usize::from(around_edit(&before, old, new).is_some());
                        let tree = reparse(&before, old, new);
                        assert_eq!(format!("{tree:?}"), format!("{:?}", parse(new)), "{old:?} to {new:?}");
                    }
                }
            }
        }
        assert!(around > 1000, "{around}");
    }

    #[test]
    fn what_two_texts_have_in_common() {
        let long = "x".repeat(1000);
        for (one, other, prefix, suffix) in [
            ("", "", 0, 0),
            ("ab", "ab", 2, 2),
            ("abc", "axc", 1, 1),
            (&format!("{long}a{long}"), &format!("{long}b{long}"), 1000, 1000),
            (&long, &format!("{long}b"), 1000, 0),
        ] {
            assert_eq!(common_prefix(one.as_bytes(), other.as_bytes()), prefix);
            assert_eq!(common_suffix(one.as_bytes(), other.as_bytes()), suffix);
        }
    }
}
