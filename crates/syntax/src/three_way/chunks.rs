//! Splits a text into the pieces that a merge keeps whole: each statement with the comment directly above it, and each
//! separate comment.

use drysheath_text::TextRange;

use crate::{StatementKind, Token, TokenKind, Tree};

use super::identity::{Identity, identity};

/// Some whole lines of a text.
pub(super) struct Chunk<'t> {
    /// Blank lines above it.
    pub blank: &'t str,
    /// Lines of the piece, including the last line end.
    pub text: &'t str,
    /// Contents with normalized blanks.
    pub said: String,
    /// Identity. `None` for a separate comment.
    pub identity: Option<Identity>,
}

impl Chunk<'_> {
    /// Whether another piece has the same contents, apart from blanks.
    pub(super) fn says_as(&self, other: &Self) -> bool {
        self.said == other.said
    }
}

/// Splits `text`, whose tree is `tree`. `None` if some of it could not be parsed, so that the ends of statements are
/// unknown.
pub(super) fn chunks<'t>(text: &'t str, tree: &Tree) -> Option<Vec<Chunk<'t>>> {
    let is_unread = |kind: &StatementKind| matches!(kind, StatementKind::Unreadable);
    if tree.cut
        || tree
            .statements
            .iter()
            .any(|statement| statement.damaged || is_unread(&statement.kind))
    {
        return None;
    }
    let mut cutter = Chunker {
        text,
        tokens: &tree.tokens,
        at: 0,
        chunks: Vec::new(),
    };
    for statement in &tree.statements {
        let start = line_start(text, statement.range.start as usize);
        let end = line_end(text, statement.range.end as usize);
        if start < cutter.at {
            // Two statements on one line have no line end between them.
            return None;
        }
        cutter.comments(start, true);
        cutter.cut(end, Some(identity(text, tree, statement)));
    }
    cutter.comments(text.len(), false);
    Some(cutter.chunks)
}

fn line_start(text: &str, at: usize) -> usize {
    text.get(..at)
        .and_then(|before| before.rfind('\n'))
        .map_or(0, |newline| newline + 1)
}

fn line_end(text: &str, at: usize) -> usize {
    text.get(at..)
        .and_then(|after| after.find('\n'))
        .map_or(text.len(), |newline| at + newline + 1)
}

struct Chunker<'t, 'a> {
    text: &'t str,
    tokens: &'a [Token],
    /// Start of the next piece.
    at: usize,
    chunks: Vec<Chunk<'t>>,
}

impl Chunker<'_, '_> {
    /// Takes the comments before `end` as pieces. Before a statement, the lines directly above it are left for it.
    fn comments(&mut self, end: usize, before_statement: bool) {
        let between = self.text.get(self.at..end).unwrap_or_default();
        let mut at = self.at;
        let mut has_comment = false;
        for line in between.split_inclusive('\n') {
            let is_blank = line.trim().is_empty();
            if is_blank && has_comment {
                self.cut(at, None);
                has_comment = false;
            }
            has_comment |= !is_blank;
            at += line.len();
        }
        if has_comment && !before_statement {
            self.cut(end, None);
        }
    }

    /// Takes the text before `end` as a piece.
    fn cut(&mut self, end: usize, identity: Option<Identity>) {
        let whole = self.text.get(self.at..end).unwrap_or_default();
        let blank: usize = whole
            .split_inclusive('\n')
            .take_while(|line| line.trim().is_empty())
            .map(str::len)
            .sum();
        let (blank, text) = whole.split_at(blank);
        self.chunks.push(Chunk {
            blank,
            text,
            said: said(self.text, self.tokens, TextRange::new(self.at as u32, end as u32)),
            identity,
        });
        self.at = end;
    }
}

/// Tokens in a range, with single blanks between them.
fn said(text: &str, tokens: &[Token], range: TextRange) -> String {
    let first = tokens.partition_point(|token| token.range.start < range.start);
    let mut said = String::new();
    for token in tokens
        .iter()
        .skip(first)
        .take_while(|token| token.range.end <= range.end)
    {
        match token.kind {
            TokenKind::Space => {}
            // Blank lines are ignored.
            TokenKind::Newline if said.is_empty() || said.ends_with('\n') => {}
            TokenKind::Newline => said.push('\n'),
            _ => {
                said.push_str(token.range.of(text).trim_end());
                said.push(' ');
            }
        }
    }
    said.truncate(said.trim_end().len());
    said
}
