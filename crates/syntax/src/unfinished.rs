//! The statement that is being written at a caret, read from what stands before the caret.

use drysheath_text::TextRange;

use crate::parse::read;
use crate::split::{Split, cut, significant};
use crate::{Statement, Token, TokenKind, Tree, Word};

/// A statement that is being written, read as if a word stood at the caret and every open block ended behind it.
#[derive(Clone, Debug, Default)]
pub struct Unfinished {
    /// The tree of the statement alone.
    pub tree: Tree,
    /// The word at the caret, which is in no text.
    pub caret: Word,
}

impl Unfinished {
    /// Reads the statement that goes on behind `tokens`, which come before the caret. Where it is a new one that starts
    /// there, nothing but the word at the caret is in it.
    pub fn read(text: &str, tokens: &[Token]) -> Self {
        let mut words = significant(tokens);
        let depth = take_closed(&mut words);
        let end = TextRange::empty(tokens.last().map_or(0, |last| last.range.end));
        let at_end = |kind| Token { kind, range: end };
        words.push(at_end(TokenKind::Word));
        words.extend((0..depth).map(|_| at_end(TokenKind::CloseBrace)));
        let mut split = Split::default();
        cut(text, &words, &mut split, true);
        // A statement that nests too deep is no piece.
        let Some(piece) = split.pieces.pop().filter(|_| split.problems.is_empty()) else {
            return Self::default();
        };
        let caret = piece.items.end - depth - 1;
        let tree = Tree {
            statements: read(text, &split.words, &[piece], &mut Vec::new()),
            words: split.words,
            ..Tree::default()
        };
        Self { tree, caret }
    }

    /// The statement that is being written, if there is one.
    pub fn statement(&self) -> Option<&Statement> {
        self.tree.statements.first()
    }

    /// The tokens of the statement before the caret.
    pub fn before(&self) -> &[Token] {
        let first = self.statement().map_or(self.caret, |statement| statement.items.start);
        self.tree.items(&(first..self.caret))
    }
}

/// Takes away what ends in a brace that nothing opened. Says how many blocks are open behind the rest.
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
