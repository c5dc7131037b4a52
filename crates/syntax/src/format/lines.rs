//! The lines of a file, and which of them have a layout.

use std::cmp::Ordering;

use super::row::Row;
use super::stops::INDENT;
use crate::{Statement, Token, TokenKind};

/// One line of a statement that is laid out.
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
            return Self {
                tokens,
                start,
                end,
                after: end,
                ending: None,
            };
        };
        let ending = if newline.range.of(text) == "\r\n" { "\r\n" } else { "\n" };
        Self {
            tokens,
            start,
            end: newline.range.start,
            after: newline.range.end,
            ending: Some(ending),
        }
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

impl<'t> Reader<'t> {
    pub(super) fn new(statements: &'t [Statement]) -> Self {
        Self {
            statements,
            depth: 0,
            left_alone: false,
        }
    }

    /// How the line is to be laid out, unless it is left as it is.
    pub(super) fn read(&mut self, line: &Line) -> Option<Row> {
        let is_solid = |token: &&Token| !matches!(token.kind, TokenKind::Space | TokenKind::Comment);
        let first = line.tokens.iter().find(|token| token.kind != TokenKind::Space);
        let goes_on = first.is_some_and(|first| self.statement(*first) == Some(Start::Earlier));
        let depth = if goes_on { self.depth } else { 0 };
        // A comment alone and a blank line go with what is above them.
        self.left_alone &= !line.tokens.iter().any(|token| is_solid(&token));
        let mut closes = 0;
        let mut closing = true;
        let mut last = None;
        for token in line.tokens.iter().filter(is_solid) {
            self.left_alone |= !self.pass(*token);
            closing &= token.kind == TokenKind::CloseBrace;
            closes += u32::from(closing);
            last = Some(token.kind);
        }
        let opens = first.is_some_and(|first| first.kind == TokenKind::OpenBrace);
        let indent = if goes_on && depth == 0 && !opens {
            INDENT
        } else {
            depth.saturating_sub(closes) * INDENT
        };
        (!self.left_alone).then(|| Row::new(indent, depth, last == Some(TokenKind::OpenBrace)))
    }

    /// Goes past a token. Says whether it is part of a statement that could be read.
    fn pass(&mut self, token: Token) -> bool {
        let statement = self.statement(token);
        if statement == Some(Start::Here) {
            self.depth = 0;
        }
        match token.kind {
            TokenKind::OpenBrace => self.depth += 1,
            TokenKind::CloseBrace => self.depth = self.depth.saturating_sub(1),
            _ => {}
        }
        statement.is_some()
    }

    /// Where the statement starts that `token` is part of, if it is part of one and that one could be read.
    fn statement(&mut self, token: Token) -> Option<Start> {
        let at = token.range.start;
        while let Some((statement, after)) = self.statements.split_first()
            && statement.range.end <= at
        {
            self.statements = after;
        }
        let statement = self.statements.first().filter(|statement| !statement.damaged)?;
        match statement.range.start.cmp(&at) {
            Ordering::Less => Some(Start::Earlier),
            Ordering::Equal => Some(Start::Here),
            Ordering::Greater => None,
        }
    }
}

/// Where a statement starts, seen from one of its tokens.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Start {
    Here,
    Earlier,
}
