//! Selection ranges: word, quantity, item, field, block, statement, file.

use drysheath_office::Meaning;
use drysheath_syntax::{Block, Statement, StatementKind, Token, TokenKind, TokenSpan, Tree};
use drysheath_text::TextRange;
use drysheath_workspace::Analysis;

use crate::words::statement_at;

/// The ranges around an offset, from the smallest to the whole file; each contains the previous one.
pub fn selection(analysis: &Analysis, offset: u32) -> Vec<TextRange> {
    let whole = TextRange::new(0, analysis.text.len() as u32);
    // An editor may be ahead of the text that it asks about.
    let offset = offset.min(whole.end);
    let mut ranges = vec![whole];
    if let Some(statement) = statement_at(analysis, offset) {
        let mut grower = SelectionBuilder {
            tree: &analysis.tree,
            offset,
            ranges: &mut ranges,
        };
        grower.push(statement.range);
        grower.statement(&statement.kind);
        ranges.extend(quantity_at(analysis, statement, offset));
    }
    let tokens = &analysis.tree.tokens;
    let after = tokens.partition_point(|token| token.range.end < offset);
    let touching = tokens.iter().skip(after).take(2);
    let mut touching = touching.filter(|token| token.range.start <= offset);
    if let Some(token) = touching
        .clone()
        .find(|token| is_wordlike(**token) && offset < token.range.end)
        .or_else(|| touching.find(|token| is_wordlike(**token)))
    {
        ranges.push(token.range);
        ranges.extend(inside(token, &analysis.text));
    }
    let mut grown: Vec<TextRange> = Vec::new();
    for range in ranges {
        let fits = grown
            .last()
            .is_none_or(|around| around.contains(range) && *around != range);
        if fits && range.start <= offset && offset <= range.end {
            grown.push(range);
        }
    }
    grown.reverse();
    grown
}

/// The number at an offset together with its unit.
fn quantity_at(analysis: &Analysis, statement: &Statement, offset: u32) -> Option<TextRange> {
    let tokens = analysis.office.semantic_tokens(&analysis.tree, statement);
    tokens.windows(2).find_map(|pair| {
        let [number, unit] = pair else { return None };
        let quantity = number.range.cover(unit.range);
        let is_quantity =
            matches!(unit.meaning, Meaning::Unit(..)) && quantity.start <= offset && offset <= quantity.end;
        is_quantity.then_some(quantity)
    })
}

fn is_wordlike(token: Token) -> bool {
    token.kind.is_word()
        || matches!(
            token.kind,
            TokenKind::Number | TokenKind::Date | TokenKind::Text | TokenKind::OpenText | TokenKind::Comment
        )
}

/// The text between quotes.
fn inside(token: &Token, text: &str) -> Option<TextRange> {
    let is_closed = match token.kind {
        TokenKind::Text => true,
        TokenKind::OpenText => false,
        _ => return None,
    };
    let mut written = token.range.of(text).chars();
    // Pasted quotes have more bytes than those of a keyboard.
    let open = written.next().map_or(0, char::len_utf8);
    let close = written.next_back().filter(|_| is_closed).map_or(0, char::len_utf8);
    Some(TextRange::new(
        token.range.start + open as u32,
        token.range.end - close as u32,
    ))
}

/// Collects the ranges around an offset, from the outside inwards.
struct SelectionBuilder<'g> {
    tree: &'g Tree,
    offset: u32,
    ranges: &'g mut Vec<TextRange>,
}

impl SelectionBuilder<'_> {
    fn holds(&self, range: TextRange) -> bool {
        range.start <= self.offset && self.offset <= range.end
    }

    fn push(&mut self, range: TextRange) {
        if self.holds(range) {
            self.ranges.push(range);
        }
    }

    fn statement(&mut self, kind: &StatementKind) {
        match kind {
            StatementKind::Part(thing) | StatementKind::Thing(thing) => {
                if let Some(block) = &thing.block {
                    self.block(block);
                }
            }
            StatementKind::Run(run) => {
                for end in &run.ends {
                    self.items(end.items);
                }
                for piece in run.pieces() {
                    if let (Some(first), Some(last)) = (piece.first(), piece.last()) {
                        self.push(self.tree.items_range(first.through(*last)));
                    }
                    for items in piece {
                        self.items(*items);
                    }
                }
            }
            StatementKind::Spare(spare) => self.items(spare.items),
            StatementKind::Pairs(stated) => self.items(stated.items),
            StatementKind::Reading(reading) => self.items(reading.items),
            StatementKind::When(when) => {
                for clause in when.clauses() {
                    self.items(clause);
                }
            }
            StatementKind::Use(_) | StatementKind::Accept(_) | StatementKind::Unreadable => {}
        }
    }

    fn block(&mut self, block: &Block) {
        let range = self.tree.block_range(block);
        if !self.holds(range) {
            return;
        }
        self.push(range);
        for field in &block.fields {
            let range = self.tree.field_range(field);
            if self.holds(range) {
                self.push(range);
                self.items(field.items);
                if let Some(inner) = &field.block {
                    self.block(inner);
                }
            }
        }
    }

    fn items(&mut self, items: TokenSpan) {
        if !items.is_empty() {
            self.push(self.tree.items_range(items));
        }
    }
}
