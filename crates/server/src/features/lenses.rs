//! What an office comes to, above its first line.

use drysheath_ide::World;
use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// The lenses of a file.
pub(crate) fn lenses(_world: &mut World, _document: &Document) -> Vec<lsp::CodeLens> {
    Vec::new()
}
