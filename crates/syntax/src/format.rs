//! Formats an office: the same tokens and comments on the same lines, with other blanks between them.
//!
//! Only blanks change. The line of each token, blank lines between statements, comments and their text are left to the
//! author. A column depends only on its own line and the nesting depth of that line, never on the length of
//! neighbouring lines, so that one long name changes one line. The columns are those of [`tab_stops`].
//!
//! * A line is indented by four blanks for each block around it, and so is the continuation of a run.
//! * The value of a field that starts its line is at a stop; braces after the value are at another.
//! * The `:` and `{` of a thing, the `->` and `with` of a run, and the text after a comma start at stops.
//! * A line that ends in `{` is a heading, with one blank between its tokens. Everywhere else without a stop there is
//!   also one blank, except before a comma, where there is none.
//! * A trailing comment starts at a stop. A comment on a line of its own is indented like its block.
//! * No blanks at the end of a line, no blank line at the start or the end of the file, a line end after the last line.
//! * Each line end stays `\n` or `\r\n`: converting them is left to git. A byte order mark at the start also stays.
//!
//! A line of a damaged statement, or with anything that belongs to no statement, is left unchanged, byte for byte. So
//! are the comments and blank lines that follow it up to the next statement: it is unknown which of the two they belong
//! to.

mod line_tokens;
mod row;
mod tab_stops;

use drysheath_text::{Edit, TextRange, apply};

use crate::lexer::BYTE_ORDER_MARK;
use crate::{Token, TokenKind, Tree, parse};
use line_tokens::{LineTokens, Reader};

/// Edits that format `text`, whose tree is `tree`: in order, none without effect, changing only blanks and line ends.
/// Empty if the text is already formatted.
pub fn format(text: &str, tree: &Tree) -> Vec<Edit> {
    let mut layout = Layout {
        text,
        edits: Vec::new(),
    };
    let mark = if text.starts_with(BYTE_ORDER_MARK) {
        BYTE_ORDER_MARK.len_utf8() as u32
    } else {
        0
    };
    let solid = |token: &Token| !matches!(token.kind, TokenKind::Space | TokenKind::Newline);
    let (Some(first), Some(last)) = (tree.tokens.iter().position(solid), tree.tokens.iter().rposition(solid)) else {
        // Too large to be parsed, or only blanks.
        if let Some(token) = tree.tokens.last() {
            layout.replace(TextRange::new(mark, token.range.end), "");
        }
        return layout.edits;
    };
    let is_newline = |token: &Token| token.kind == TokenKind::Newline;
    let (before, from_first) = tree.tokens.split_at(first);
    let head = before.iter().rposition(is_newline).map_or(0, |at| at + 1);
    let tail = from_first
        .iter()
        .skip(last - first)
        .position(is_newline)
        .map_or(tree.tokens.len(), |at| last + at + 1);
    let mut at = before
        .get(head.wrapping_sub(1))
        .map_or(mark, |newline| newline.range.end);
    layout.replace(TextRange::new(mark, at), "");
    let mut reader = Reader::new(&tree.statements);
    let mut ending = "\n";
    for tokens in tree
        .tokens
        .get(head..tail)
        .unwrap_or_default()
        .split_inclusive(is_newline)
    {
        let line = LineTokens::new(text, at, tokens);
        ending = line.ending.unwrap_or(ending);
        at = line.after;
        layout.line(&line, &mut reader);
    }
    let end = tree.tokens.last().map_or(at, |token| token.range.end);
    layout.finish(at, end, ending);
    layout.edits
}

/// The text as `format` writes it.
pub fn formatted(text: &str) -> String {
    // The edits do not overlap or split characters, so applying them cannot fail.
    apply(text, &format(text, &parse(text))).unwrap_or_else(|| text.to_owned())
}

struct Layout<'t> {
    text: &'t str,
    edits: Vec<Edit>,
}

impl Layout<'_> {
    fn line(&mut self, line: &LineTokens, reader: &mut Reader) {
        let Some(mut row) = reader.read(line) else { return };
        let mut at = line.start;
        let mut column = 0;
        for token in line.tokens.iter().filter(|token| token.kind != TokenKind::Space) {
            let blanks = row.blanks_before(token.kind, column);
            self.blanks(TextRange::new(at, token.range.start), blanks);
            let written = written(self.text, *token);
            column += blanks + written.chars().count() as u32;
            at = token.range.start + written.len() as u32;
        }
        self.replace(TextRange::new(at, line.end), "");
    }

    /// Ends the last line, which ends at `at`, with a line end, and removes what follows it up to `end`.
    fn finish(&mut self, at: u32, end: u32, ending: &str) {
        let ended = at
            .checked_sub(1)
            .is_some_and(|last| self.text.as_bytes().get(last as usize) == Some(&b'\n'));
        if self.text.ends_with('\r') {
            // A lone carriage return would combine with an added line feed. It is reported as a problem anyway.
        } else if ended {
            self.replace(TextRange::new(at, end), "");
        } else {
            // The blanks of the last line have been removed, or it is left unchanged with them.
            self.edits.push(Edit {
                range: TextRange::empty(end),
                replacement: ending.to_owned(),
            });
        }
    }

    fn blanks(&mut self, range: TextRange, blanks: u32) {
        let there = range.of(self.text);
        if there.len() as u32 != blanks || there.bytes().any(|byte| byte != b' ') {
            self.edits.push(Edit {
                range,
                replacement: " ".repeat(blanks as usize),
            });
        }
    }

    fn replace(&mut self, range: TextRange, replacement: &str) {
        if range.of(self.text) != replacement {
            self.edits.push(Edit {
                range,
                replacement: replacement.to_owned(),
            });
        }
    }
}

/// Text of a token; of a comment, without trailing blanks.
fn written(text: &str, token: Token) -> &str {
    let written = token.range.of(text);
    if token.kind == TokenKind::Comment {
        written.trim_end_matches([' ', '\t'])
    } else {
        written
    }
}
