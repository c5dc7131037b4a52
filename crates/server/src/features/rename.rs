//! A name changed wherever it stands.

use drysheath_ide::World;
use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// The name at a position, if it can be changed.
pub(crate) fn prepare(_document: &Document, _position: lsp::Position) -> Option<lsp::PrepareRenameResponse> {
    None
}

/// The edits that change it.
///
/// # Errors
///
/// In words, if the new name will not do.
pub(crate) fn rename(
    _world: &mut World,
    _document: &Document,
    _position: lsp::Position,
    _to: &str,
) -> Result<Option<lsp::WorkspaceEdit>, String> {
    Ok(None)
}
