//! Each grammar that is in `grammar` reads what the parser reads.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]
#![allow(clippy::disallowed_methods, clippy::disallowed_macros)]

mod ebnf;
mod text_mate;
mod tree_sitter;
