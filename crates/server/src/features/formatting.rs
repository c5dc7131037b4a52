//! Layout: of a whole file, of some lines, and while typing.

use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// The edits that lay out a whole file.
pub(crate) fn whole(_document: &Document) -> Vec<lsp::TextEdit> {
    Vec::new()
}

/// The edits that lay out some lines.
pub(crate) fn range(_document: &Document, _range: lsp::Range) -> Vec<lsp::TextEdit> {
    Vec::new()
}

/// The edits after a character was typed.
pub(crate) fn on_type(_document: &Document, _position: lsp::Position, _typed: &str) -> Vec<lsp::TextEdit> {
    Vec::new()
}
