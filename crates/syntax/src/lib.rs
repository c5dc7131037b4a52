//! Syntax of the office language: tokens, statements, tree, formatting.
//!
//! This crate knows words, numbers and braces. It does not know what a regulator is: kinds and fields are defined in
//! the `office` crate.

mod comments;
mod damage;
mod edited;
mod expected;
mod explain;
mod format;
mod grammar;
mod lexer;
mod lexical;

mod misread;
mod parse;
mod pasted;
mod problem;
mod split;
mod three_way;
mod tree;
mod unfinished;
mod unfinished_merge;

pub use comments::{comment_lines, comments_above, with_comments};
pub use edited::parse_edited;
pub use expected::Expected;
pub use format::{format, formatted};
pub use lexer::{Token, TokenKind, WORDS, lex};
pub use parse::{LARGEST_TEXT, LONGEST_NUMBER, parse, parse_all};
pub use problem::{Fix, Label, Problem, ProblemId, Related};
pub use split::DEEPEST;
pub use three_way::{Clash, Conflict, Merged, merge};
pub use tree::{
    Accept, Block, End, Field, Items, Medium, PairState, Reading, Run, Spare, Stated, Statement, StatementKind, Thing,
    Tree, Use, When, Word,
};
pub use unfinished::Unfinished;
