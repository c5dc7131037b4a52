//! What stands between the lines: colours and pins, predicted figures, what a part says.

use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// The hints within a range.
pub(crate) fn hints(_document: &Document, _range: lsp::Range) -> Vec<lsp::InlayHint> {
    Vec::new()
}
