//! Formatting of a document, of a range, and while typing.

use drysheath_ide::{lay_out, lay_out_range, lay_out_typed};
use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// Edits that format a whole file.
pub(crate) fn whole(document: &Document) -> Vec<lsp::TextEdit> {
    document.positions.edits(&lay_out(&document.analysis))
}

/// Edits that format some lines.
pub(crate) fn range(document: &Document, range: lsp::Range) -> Vec<lsp::TextEdit> {
    let range = document.positions.bytes(range);
    document.positions.edits(&lay_out_range(&document.analysis, range))
}

/// Edits after a character was typed.
pub(crate) fn on_type(document: &Document, position: lsp::Position, typed: &str) -> Vec<lsp::TextEdit> {
    let offset = document.offset(position);
    document
        .positions
        .edits(&lay_out_typed(&document.analysis, offset, typed))
}
