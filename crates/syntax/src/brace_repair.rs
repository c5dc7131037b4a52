//! Repairs the braces of a damaged statement by indentation, so that a missing or surplus brace is one problem and all
//! fields around it keep their meaning.

use drysheath_text::TextRange;

use crate::{Fix, Problem, ProblemId, Token, TokenKind};

pub(crate) struct Repaired {
    pub words: Vec<Token>,
    pub problems: Vec<Problem>,
    /// Whether a brace was still open at the end.
    pub open: bool,
}

struct Open {
    /// Index in `words` of the brace.
    brace: usize,
    /// Range of the brace in the text.
    range: TextRange,
    /// Indentation of its line.
    indent: u32,
    /// Index of that line within the chunk.
    line: u32,
}

struct Repair<'t> {
    text: &'t str,
    out: Repaired,
    open: Vec<Open>,
    line: u32,
    /// Index in `words` of the first token of this line.
    line_start: usize,
    indent: u32,
    /// Indentation and first index in `words` of each line so far.
    lines: Vec<(u32, usize)>,
}

const UNREADABLE: ProblemId = ProblemId::StatementUnreadable;

/// Balances the braces of `chunk`, which starts with a statement.
pub(crate) fn repair(text: &str, chunk: &[Token]) -> Repaired {
    let mut repair = Repair {
        text,
        out: Repaired {
            words: Vec::with_capacity(chunk.len() + 2),
            problems: Vec::new(),
            open: false,
        },
        open: Vec::new(),
        line: 0,
        line_start: 0,
        indent: 0,
        lines: vec![(0, 0)],
    };
    for (at, token) in chunk.iter().enumerate() {
        match token.kind {
            TokenKind::Newline => repair.newline(*token, chunk.get(at + 1).copied()),
            TokenKind::OpenBrace => repair.open_brace(*token),
            TokenKind::CloseBrace => repair.close_brace(*token),
            _ => repair.out.words.push(*token),
        }
    }
    repair.close_all();
    repair.out
}

impl Repair<'_> {
    fn newline(&mut self, token: Token, next: Option<Token>) {
        if let Some(next) = next.filter(|next| next.kind != TokenKind::OpenBrace) {
            let indent = indentation(self.text, next.range.start);
            // A line indented no deeper than the line of an open brace is not inside its block.
            while let Some(open) = self.open.last() {
                let inside = indent > open.indent || (next.kind == TokenKind::CloseBrace && indent == open.indent);
                if inside {
                    break;
                }
                if let Some(open) = self.open.pop() {
                    self.supply_close(&open);
                }
            }
            self.indent = indent;
        }
        self.line += 1;
        self.out.words.push(token);
        self.line_start = self.out.words.len();
        self.lines.push((self.indent, self.line_start));
    }

    fn open_brace(&mut self, token: Token) {
        let before = self.out.words.last().map(|last| last.kind);
        if matches!(before, Some(TokenKind::OpenBrace | TokenKind::Comma)) {
            self.surplus(
                token,
                "this `{` opens no block: a block follows the name of a thing or of a field",
            );
            return;
        }
        self.open.push(Open {
            brace: self.out.words.len(),
            range: token.range,
            indent: self.indent,
            line: self.line,
        });
        self.out.words.push(token);
    }

    fn close_brace(&mut self, token: Token) {
        let first_on_line = self.out.words.len() == self.line_start;
        let opened_here = self.open.last().is_some_and(|open| open.line == self.line);
        if let Some(at) = self.unopened_field().filter(|_| first_on_line && !opened_here) {
            self.supply_open(at, token);
            return;
        }
        if opened_here || (first_on_line && !self.open.is_empty()) {
            self.open.pop();
            self.out.words.push(token);
            return;
        }
        let head = if first_on_line { 0 } else { self.line_start };
        let closed_before = if first_on_line {
            self.had_block()
        } else {
            self.closed_on_line()
        };
        match self.head_end(head) {
            Some(at) if !closed_before => self.supply_open(at, token),
            _ => self.surplus(token, "this `}` closes no block: every block is closed already"),
        }
    }

    /// End of the head of a field that has no opening brace but that a brace on this line, by its indentation, closes.
    fn unopened_field(&self) -> Option<usize> {
        let open = self.open.last().filter(|open| self.indent > open.indent)?;
        let (this, earlier) = self.lines.split_last()?;
        let (_, start) = earlier
            .iter()
            .rfind(|(indent, start)| *indent == this.0 && *start > open.brace)?;
        let line = self.out.words.get(*start..)?;
        let has_block = line
            .iter()
            .take_while(|word| word.kind != TokenKind::Newline)
            .any(|word| word.kind == TokenKind::OpenBrace);
        // The lines between must be deeper: they are the fields of the block.
        let is_deeper = self
            .lines
            .iter()
            .rfind(|(_, other)| other < &this.1)
            .is_some_and(|(indent, _)| *indent > this.0);
        if has_block || !is_deeper {
            None
        } else {
            self.head_end(*start)
        }
    }

    /// Whether the statement itself, not one of its fields, has had a block.
    fn had_block(&self) -> bool {
        let head = self
            .head_end(0)
            .and_then(|end| self.out.words.get(end..))
            .unwrap_or_default();
        head.iter()
            .find(|word| word.kind != TokenKind::Newline)
            .is_some_and(|word| word.kind == TokenKind::OpenBrace)
    }

    fn closed_on_line(&self) -> bool {
        let line = self.out.words.get(self.line_start..).unwrap_or_default();
        line.iter().any(|word| word.kind == TokenKind::CloseBrace)
    }

    /// End of the head of the statement or field at `start`, if it can have a block.
    fn head_end(&self, start: usize) -> Option<usize> {
        let kind = |at: usize| self.out.words.get(at).map(|token| token.kind);
        let first = kind(start)?;
        let is_field = !self.open.is_empty();
        let heads = match first {
            TokenKind::Part => 3,
            TokenKind::Word => 2,
            other if is_field && other.is_word() => 2,
            _ => return None,
        };
        let mut end = start;
        while end < start + heads && kind(end).is_some_and(TokenKind::is_word) {
            end += 1;
        }
        // Some blocks of fields have a name and some do not. A number here follows the name of an inner field.
        if is_field && end == start + 2 && matches!(kind(end), Some(TokenKind::Number | TokenKind::Text)) {
            end -= 1;
        }
        if kind(end) == Some(TokenKind::Colon) {
            end += 2;
        }
        Some(end.min(self.out.words.len()))
    }

    fn supply_open(&mut self, at: usize, close: Token) {
        let after = self
            .out
            .words
            .get(at.wrapping_sub(1))
            .map_or(close.range.start, |word| word.range.end);
        let range = TextRange::empty(after);
        self.out.words.insert(
            at,
            Token {
                kind: TokenKind::OpenBrace,
                range,
            },
        );
        self.out.words.push(close);
        let head = self
            .out
            .words
            .get(at.wrapping_sub(1))
            .map_or(close.range, |word| word.range);
        self.out.problems.push(
            Problem::new(
                UNREADABLE,
                head,
                format!(
                    "a `{{` is missing after `{}`: the block is closed but never opened",
                    head.of(self.text)
                ),
            )
            .help("put `{` before the first field")
            .fix(Fix::replace(range, " {", "Insert `{`")),
        );
    }

    /// Closes all blocks open at the end of the chunk. They are one problem, however many there are.
    fn close_all(&mut self) {
        let Some(last) = self.open.pop() else { return };
        self.out.open = true;
        let others = self.open.len();
        let range = self.close(&last);
        while let Some(open) = self.open.pop() {
            self.close(&open);
        }
        let message = match others {
            0 => "this `{` is never closed".to_owned(),
            1 => "this `{` is never closed, nor is the one before it".to_owned(),
            _ => format!("this `{{` is never closed, nor are the {others} before it"),
        };
        self.unclosed(&last, message, range, others + 1);
    }

    fn supply_close(&mut self, open: &Open) {
        let range = self.close(open);
        self.unclosed(open, "this `{` is never closed".to_owned(), range, 1);
    }

    /// Inserts a brace after the last word of the block, before the line ends that follow it.
    fn close(&mut self, open: &Open) -> TextRange {
        let last = self
            .out
            .words
            .iter()
            .rposition(|word| word.kind != TokenKind::Newline)
            .unwrap_or(open.brace);
        let end = self.out.words.get(last).map_or(open.range.end, |word| word.range.end);
        let range = TextRange::empty(end);
        self.out.words.insert(
            last + 1,
            Token {
                kind: TokenKind::CloseBrace,
                range,
            },
        );
        range
    }

    fn unclosed(&mut self, open: &Open, message: String, end: TextRange, braces: usize) {
        self.out.problems.push(
            Problem::new(UNREADABLE, open.range, message)
                .help("put `}` after the block's last field")
                .fix(Fix::replace(
                    end,
                    " }".repeat(braces),
                    "Close the block after its last field",
                )),
        );
    }

    fn surplus(&mut self, token: Token, message: &str) {
        self.out.problems.push(
            Problem::new(UNREADABLE, token.range, message)
                .help("delete it")
                .fix(Fix::replace(token.range, "", "Delete the surplus brace")),
        );
    }
}

fn indentation(text: &str, at: u32) -> u32 {
    let before = text.get(..at as usize).unwrap_or_default();
    before
        .bytes()
        .rev()
        .take_while(|byte| matches!(byte, b' ' | b'\t'))
        .count() as u32
}
