//! The statement that is being written at a caret, read from the tokens before the caret.

use drysheath_text::TextRange;

use crate::parse::read;
use crate::split::{Split, cut, significant};
use crate::{Expected, Items, Statement, Token, TokenKind, Tree, Word};

/// A statement that is being written, read as if a word stood at the caret and every open block ended behind it.
#[derive(Clone, Debug)]
pub struct Unfinished {
    /// The tree of the statement alone.
    pub tree: Tree,
    /// The word at the caret, which is in no text.
    pub caret: Word,
}

impl Unfinished {
    /// Reads the statement that goes on behind `tokens`, which come before the caret. Where it is a new one that starts
    /// there, nothing but the word at the caret is in it. None where blocks nest too deep to be read.
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
        let caret = Items::new(piece.items.start, piece.items.end).before_end(depth + 1);
        let tree = Tree {
            statements: read(text, &split.words, &[piece], &mut Vec::new()),
            words: split.words,
            ..Tree::default()
        };
        Some(Self { tree, caret })
    }

    /// The statement that is being written, if there is one.
    pub fn statement(&self) -> Option<&Statement> {
        self.tree.statements.first()
    }

    /// The tokens of the statement before the caret.
    pub fn before(&self) -> &[Token] {
        self.statement()
            .map_or(&[], |statement| self.before_in(statement.items))
    }

    /// What the grammar could go on with at the caret, outside of blocks.
    pub fn expected(&self) -> Vec<Expected> {
        Expected::after(self.before())
    }

    /// The tokens of some items before the caret.
    pub fn before_in(&self, items: Items) -> &[Token] {
        self.tree.items(items.before(self.caret))
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
