//! What could be written next.

use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// What could be written at a position.
pub(crate) fn completion(_document: &Document, _parameters: &lsp::CompletionParams) -> Vec<lsp::CompletionItem> {
    Vec::new()
}
