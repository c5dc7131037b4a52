//! The lines of a file, and which of them have a layout.

use super::row::Row;
use super::stops::INDENT;
use crate::{Statement, Token, TokenKind};

/// One line.
pub(super) struct Line<'t> {
    /// Its tokens without the line end.
    pub tokens: &'t [Token],
    /// Its first byte, after a byte order mark.
    pub start: u32,
    /// Where its line end starts, or the text ends.
    pub end: u32,
    /// Where the next line starts, or the text ends.
    pub after: u32,
    /// How it ends, if it does.
    pub ending: Option<&'static str>,
}

impl<'t> Line<'t> {
    /// The line of `tokens`, the last of which may be a line end.
    pub(super) fn new(text: &str, start: u32, tokens: &'t [Token]) -> Self {
        let (tokens, newline) = match tokens.split_last() {
            Some((last, others)) if last.kind == TokenKind::Newline => (others, Some(*last)),
            _ => (tokens, None),
        };
        let Some(newline) = newline else {
            let end = tokens.last().map_or(start, |last| last.range.end);
            return Self { tokens, start, end, after: end, ending: None };
        };
        // A carriage return after blanks or in a comment is no token of its own, and yet it belongs to the line end.
        let after = newline.range.end;
        let line = text.get(start as usize..after as usize).unwrap_or_default();
        let ending = if line.ends_with("\r\n") { "\r\n" } else { "\n" };
        Self { tokens, start, end: after - ending.len() as u32, after, ending: Some(ending) }
    }
}

/// Reads line by line what each is part of.
pub(super) struct Reader<'t> {
    /// The statements that have not ended before the place that is read.
    statements: &'t [Statement],
    /// Blocks around that place.
    depth: u32,
    /// Whether the last line is left as it is.
    left_alone: bool,
}

/// What a token is part of.
enum Part {
    /// A statement, which it may start.
    Statement { first: bool },
    /// A statement that could not be read.
    Damaged,
    /// Nothing.
    Nothing,
}

impl<'t> Reader<'t> {
    pub(super) fn new(statements: &'t [Statement]) -> Self {
        Self { statements, depth: 0, left_alone: false }
    }

    /// How the line is to be laid out, unless it is left as it is.
    pub(super) fn read(&mut self, line: &Line) -> Option<Row> {
        let mut solid = line.tokens.iter().filter(|token| token.kind != TokenKind::Space).peekable();
        // A blank line is laid out as a comment would be: there is nothing to put anywhere.
        let first = solid.peek().copied();
        let part = first.map_or(Part::Nothing, |first| self.part(*first));
        if first.is_none_or(|first| first.kind == TokenKind::Comment) {
            let depth = if matches!(part, Part::Nothing) { 0 } else { self.depth };
            let goes_on = depth == 0 && !matches!(part, Part::Nothing);
            let indent = if goes_on { INDENT } else { depth * INDENT };
            return (!self.left_alone).then(|| Row::new(indent, depth, false));
        }
        let goes_on = matches!(part, Part::Statement { first: false });
        let depth = if goes_on { self.depth } else { 0 };
        let mut closes = 0;
        let mut closing = true;
        let mut last = None;
        self.left_alone = false;
        for token in solid.filter(|token| token.kind != TokenKind::Comment) {
            self.left_alone |= !self.pass(*token);
            closing &= token.kind == TokenKind::CloseBrace;
            closes += u32::from(closing);
            last = Some(token.kind);
        }
        let indent = match first.map(|first| first.kind) {
            Some(TokenKind::OpenBrace) => depth * INDENT,
            _ if goes_on && depth == 0 => INDENT,
            _ => depth.saturating_sub(closes) * INDENT,
        };
        (!self.left_alone).then(|| Row::new(indent, depth, last == Some(TokenKind::OpenBrace)))
    }

    /// Goes past a token. Says whether it has a layout.
    fn pass(&mut self, token: Token) -> bool {
        let Part::Statement { first } = self.part(token) else { return false };
        if first {
            self.depth = 0;
        }
        match token.kind {
            TokenKind::OpenBrace => self.depth += 1,
            TokenKind::CloseBrace => self.depth = self.depth.saturating_sub(1),
            _ => {}
        }
        token.kind != TokenKind::Unknown
    }

    fn part(&mut self, token: Token) -> Part {
        let at = token.range.start;
        while let Some((statement, after)) = self.statements.split_first()
            && statement.range.end <= at
        {
            self.statements = after;
        }
        match self.statements.first() {
            Some(statement) if statement.range.start <= at => {
                if statement.damaged {
                    Part::Damaged
                } else {
                    Part::Statement { first: statement.range.start == at }
                }
            }
            _ => Part::Nothing,
        }
    }
}
