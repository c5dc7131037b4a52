//! Splits a file into lines and determines which are formatted.

use std::cmp::Ordering;

use super::row::Row;
use super::tab_stops::INDENT;
use crate::{Statement, Token, TokenKind};

/// Tokens and position of one line.
pub(super) struct LineTokens<'t> {
    /// Tokens without the line end.
    pub tokens: &'t [Token],
    /// First byte, after any byte order mark.
    pub start: u32,
    /// Start of its line end, or the end of the text.
    pub end: u32,
    /// Start of the next line, or the end of the text.
    pub after: u32,
    /// Line end, if the line has one.
    pub ending: Option<&'static str>,
}

impl<'t> LineTokens<'t> {
    /// The line with these `tokens`, the last of which may be a line end.
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

/// Determines line by line which statement each belongs to.
pub(super) struct Reader<'t> {
    /// Statements that have not ended before the current position.
    statements: &'t [Statement],
    /// Nesting depth at the current position.
    depth: u32,
    /// Whether the last line is left unchanged.
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

    /// Layout of the line. `None` if it is left unchanged.
    pub(super) fn read(&mut self, line: &LineTokens) -> Option<Row> {
        let is_solid = |token: &&Token| !matches!(token.kind, TokenKind::Space | TokenKind::Comment);
        let first = line.tokens.iter().find(|token| token.kind != TokenKind::Space);
        let goes_on = first.is_some_and(|first| self.statement(*first) == Some(Start::Earlier));
        let depth = if goes_on { self.depth } else { 0 };
        // Comment lines and blank lines are treated like the line above them.
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

    /// Advances past a token. Returns whether it is part of a statement that could be parsed.
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

    /// Start of the statement that contains `token`, if there is one and it could be parsed.
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

/// Start of a statement, relative to one of its tokens.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Start {
    Here,
    Earlier,
}
