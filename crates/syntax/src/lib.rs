//! Syntax of the office language: tokens, statements, tree, formatting.
//!
//! This crate knows words, numbers and braces. It does not know what a regulator is: kinds and fields are defined in
//! the `office` crate.

mod brace_repair;
mod comments;
mod error_message;
mod expected;
mod format;
mod grammar;
mod lexer;
mod lexical;
mod reparse;

mod incomplete;
mod merge_markers;
mod misread;
mod parse;
mod pasted;
mod problem;
mod split;
mod three_way;
mod tree;

pub use comments::{comment_lines, comments_above, with_comments};
pub use expected::Expected;
pub use format::{format, formatted};
pub use incomplete::IncompleteStatement;
pub use lexer::{Token, TokenKind, WORDS, lex};
pub use parse::{LARGEST_TEXT, LONGEST_NUMBER, parse, parse_all};
pub use problem::{Fix, Label, Problem, ProblemId, Related};
pub use reparse::reparse;
pub use split::DEEPEST;
pub use three_way::{Conflict, ConflictKind, Merged, merge};
pub use tree::{
    Accept, Block, End, Field, Medium, PairState, PairStateStatement, Reading, Run, Spare, Statement, StatementKind,
    Thing, TokenId, TokenSpan, Tree, Use, When,
};
