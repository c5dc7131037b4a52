//! What can be done about what stands here.

use drysheath_ide::World;
use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// The kinds of actions that are offered.
pub(crate) fn kinds() -> Vec<lsp::CodeActionKind> {
    vec![lsp::CodeActionKind::QUICKFIX, lsp::CodeActionKind::REFACTOR]
}

/// The actions for a range.
pub(crate) fn actions(
    _world: &mut World,
    _document: &Document,
    _parameters: &lsp::CodeActionParams,
) -> Vec<lsp::CodeActionOrCommand> {
    Vec::new()
}
