//! The incomplete statement at a caret, parsed from the tokens before the caret.

use drysheath_text::TextRange;

use crate::parse::read;
use crate::split::{Split, cut, significant};
use crate::{Expected, Statement, Token, TokenId, TokenKind, TokenSpan, Tree};

/// An incomplete statement, parsed as if there were a word at the caret and every open block ended after it.
#[derive(Clone, Debug)]
pub struct IncompleteStatement {
    /// Tree of this statement only.
    pub tree: Tree,
    /// The word at the caret, which is not in the text.
    pub caret: TokenId,
}

impl IncompleteStatement {
    /// Parses the statement that continues after `tokens`, which are before the caret. If a new statement starts there,
    /// it contains only the word at the caret. `None` if blocks are nested too deep.
    pub fn read(text: &str, tokens: &[Token]) -> Option<Self> {
        let mut words = significant(tokens, &[]);
        let depth = take_closed(&mut words);
        let end = TextRange::empty(tokens.last().map_or(0, |last| last.range.end));
        let at_end = |kind| Token { kind, range: end };
        words.push(at_end(TokenKind::Word));
        words.extend((0..depth).map(|_| at_end(TokenKind::CloseBrace)));
        let mut split = Split::default();
        cut(text, &words, &mut split, true);
        let piece = split.pieces.pop().filter(|_| split.problems.is_empty())?;
        let caret = TokenSpan::new(piece.items.start, piece.items.end).before_end(depth + 1);
        let tree = Tree {
            statements: read(text, &split.words, &[piece], &mut Vec::new()),
            words: split.words,
            ..Tree::default()
        };
        Some(Self { tree, caret })
    }

    /// The incomplete statement, if there is one.
    pub fn statement(&self) -> Option<&Statement> {
        self.tree.statements.first()
    }

    /// Tokens of the statement before the caret.
    pub fn before(&self) -> &[Token] {
        self.statement()
            .map_or(&[], |statement| self.before_in(statement.items))
    }

    /// What the grammar allows at the caret, outside blocks.
    pub fn expected(&self) -> Vec<Expected> {
        Expected::after(self.before())
    }

    /// Tokens of some items before the caret.
    pub fn before_in(&self, items: TokenSpan) -> &[Token] {
        self.tree.items(items.before(self.caret))
    }
}

/// Removes everything up to a closing brace without an opening one. Returns how many blocks are open after the rest.
fn take_closed(words: &mut Vec<Token>) -> u32 {
    let mut depth = 0_u32;
    let mut start = 0;
    for (at, token) in words.iter().enumerate() {
        match token.kind {
            TokenKind::OpenBrace => depth += 1,
            TokenKind::CloseBrace if depth == 0 => start = at + 1,
            TokenKind::CloseBrace => depth -= 1,
            _ => {}
        }
    }
    words.drain(..start);
    depth
}
