//! Renaming (`textDocument/prepareRename`, `textDocument/rename`).

use tower_lsp::lsp_types as lsp;

use crate::document::Document;
use crate::edits::workspace_edit;

/// Range of the name at a position, if it can be renamed.
pub(crate) fn prepare(document: &Document, position: lsp::Position) -> Option<lsp::PrepareRenameResponse> {
    let range = drysheath_ide::prepare_rename(&document.analysis, document.offset(position))?;
    Some(lsp::PrepareRenameResponse::RangeWithPlaceholder {
        range: document.range(range),
        placeholder: range.of(&document.analysis.text).to_owned(),
    })
}

/// Edits that rename it.
///
/// # Errors
///
/// A message if the name cannot be changed or the new name is invalid.
pub(crate) fn rename(
    document: &Document,
    position: lsp::Position,
    to: &str,
) -> Result<Option<lsp::WorkspaceEdit>, String> {
    let edits = drysheath_ide::rename(&document.snapshot, &document.analysis, document.offset(position), to)?;
    Ok(Some(workspace_edit(&document.snapshot, edits, document.capabilities())))
}
