//! The things of a file, and of all files.

use drysheath_ide::World;
use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// The things of a file, with what is in them.
pub(crate) fn of_document(_document: &Document) -> Vec<lsp::DocumentSymbol> {
    Vec::new()
}

/// The things of all files whose names hold the letters of `query` in order.
pub(crate) fn of_workspace(
    _world: &mut World,
    _query: &str,
    _encoding: drysheath_text::Encoding,
) -> Vec<lsp::SymbolInformation> {
    Vec::new()
}
