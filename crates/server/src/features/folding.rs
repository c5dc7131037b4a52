//! Blocks that can be folded, and ranges that a selection grows by.

use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// The blocks of a file.
pub(crate) fn folding(_document: &Document) -> Vec<lsp::FoldingRange> {
    Vec::new()
}

/// The ranges around each position, from the smallest to the whole file.
pub(crate) fn selection(_document: &Document, _positions: &[lsp::Position]) -> Vec<lsp::SelectionRange> {
    Vec::new()
}
