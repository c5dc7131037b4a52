//! Number of blanks before each token of a line.

use super::tab_stops::{FIELD, HEAD, LINK, NAME, NAMED, SIZE, comment, stop};
use crate::TokenKind;

/// State of the layout of one line.
pub(super) struct Row {
    indent: u32,
    /// Nesting depth at the next token.
    depth: u32,
    /// Whether the line ends in `{`.
    heading: bool,
    before: Option<TokenKind>,
    place: Place,
    /// Start of the cell that the next stop is relative to. `None` after a statement that ends within the line.
    cell: Option<u32>,
}

/// Position of the next token in the line.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Place {
    /// After the name of a field that starts the line.
    AfterName,
    /// In the value of such a field, up to its braces or a comma.
    Value,
    /// Before the first stop of a statement.
    Head,
    Elsewhere,
}

impl Row {
    pub(super) fn new(indent: u32, depth: u32, heading: bool) -> Self {
        Self {
            indent,
            depth,
            heading,
            before: None,
            place: Place::Elsewhere,
            cell: None,
        }
    }

    /// Number of blanks before a token, if the token before it ends at `column`.
    pub(super) fn blanks_before(&mut self, kind: TokenKind, column: u32) -> u32 {
        let blanks = match self.before {
            None => self.first(kind),
            Some(_) if kind == TokenKind::Comment => comment(column) - column,
            Some(_) if kind == TokenKind::Comma => 0,
            Some(_) if self.heading => 1,
            Some(before) => self.start(before, kind, column) - column,
        };
        match kind {
            TokenKind::OpenBrace => self.depth += 1,
            TokenKind::CloseBrace => self.depth = self.depth.saturating_sub(1),
            TokenKind::Comma => self.place = Place::Elsewhere,
            _ => {}
        }
        self.before = Some(kind);
        blanks
    }

    /// Column of the line's first token.
    fn first(&mut self, kind: TokenKind) -> u32 {
        self.place = match kind {
            _ if self.depth > 0 && kind.is_word() => Place::AfterName,
            TokenKind::Arrow | TokenKind::OpenBrace => Place::Elsewhere,
            _ if self.depth > 0 => Place::Elsewhere,
            _ => Place::Head,
        };
        self.cell = (self.place != Place::Elsewhere || kind == TokenKind::Arrow).then_some(self.indent);
        self.indent
    }

    /// Column of a token in a line that is not a heading.
    fn start(&mut self, before: TokenKind, kind: TokenKind, column: u32) -> u32 {
        use TokenKind::{Arrow, CloseBrace, Colon, Comma, OpenBrace, Then, With};
        let next = column + 1;
        let place = self.place;
        let at_top = self.depth == 0;
        match (before, kind) {
            (CloseBrace, _) if at_top => {
                self.place = Place::Elsewhere;
                self.cell = None;
                next
            }
            (_, CloseBrace) => next,
            (OpenBrace, _) => self.cell_at(next),
            (With | Then, _) if at_top => self.cell_at(next),
            (Comma, _) => self.stop(if at_top { SIZE } else { FIELD }, column),
            (_, Arrow | With | Colon | OpenBrace) if at_top => {
                // The first stop is the same for everything that starts a line, including continued runs.
                let width = if place == Place::Head {
                    HEAD.saturating_sub(self.indent)
                } else {
                    LINK
                };
                self.place = Place::Elsewhere;
                self.stop(width, column)
            }
            _ if place == Place::AfterName => {
                self.place = if kind == OpenBrace {
                    Place::Elsewhere
                } else {
                    Place::Value
                };
                // The field's cell still starts at its name.
                stop(self.indent, NAME, column)
            }
            (_, OpenBrace) if place == Place::Value => {
                self.place = Place::Elsewhere;
                stop(self.indent + NAME, NAMED, column)
            }
            _ => next,
        }
    }

    /// Column of the next stop, where a cell starts.
    fn stop(&mut self, width: u32, column: u32) -> u32 {
        let Some(cell) = self.cell else { return column + 1 };
        let start = stop(cell, width, column);
        self.cell_at(start)
    }

    fn cell_at(&mut self, start: u32) -> u32 {
        self.cell = Some(start);
        start
    }
}
