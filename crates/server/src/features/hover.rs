//! Hover.

use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// The hover at a position.
pub(crate) fn hover(document: &Document, position: lsp::Position) -> Option<lsp::Hover> {
    let hover = drysheath_ide::hover(&document.analysis, document.offset(position))?;
    let (kind, value) = if document.capabilities().markdown {
        (lsp::MarkupKind::Markdown, hover.text.markdown())
    } else {
        (lsp::MarkupKind::PlainText, hover.text.plain())
    };
    Some(lsp::Hover {
        contents: lsp::HoverContents::Markup(lsp::MarkupContent { kind, value }),
        range: Some(document.range(hover.range)),
    })
}
