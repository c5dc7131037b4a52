//! Addresses in a text: files that it uses.

use drysheath_ide::World;
use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// The links of a file.
pub(crate) fn links(_world: &mut World, _document: &Document) -> Vec<lsp::DocumentLink> {
    Vec::new()
}
