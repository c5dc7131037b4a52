//! Inlay hints: colours and pins, predicted figures, values taken from a part.

use drysheath_ide::Hint;
use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// The hints within a range.
pub(crate) fn hints(document: &Document, range: lsp::Range) -> Vec<lsp::InlayHint> {
    let range = document.positions.bytes(range);
    let hints = drysheath_ide::hints(&document.analysis, range).into_iter();
    hints
        .filter(|hint| range.start <= hint.at && hint.at <= range.end)
        .map(|hint| shown(document, hint))
        .collect()
}

fn shown(document: &Document, hint: Hint) -> lsp::InlayHint {
    lsp::InlayHint {
        position: document.positions.position(hint.at),
        label: lsp::InlayHintLabel::String(hint.label),
        kind: None,
        text_edits: hint.edit.map(|edit| vec![document.positions.edit(&edit)]),
        tooltip: Some(lsp::InlayHintTooltip::String(hint.more)),
        padding_left: Some(true),
        padding_right: None,
        data: None,
    }
}
