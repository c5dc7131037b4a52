//! Hover (`textDocument/hover`).

use tower_lsp::lsp_types as lsp;

use crate::document::Document;
use crate::features::sheet;

/// The hover at a position.
pub(crate) fn hover(document: &Document, position: lsp::Position) -> Option<lsp::Hover> {
    let hover = drysheath_ide::hover(&document.analysis, document.offset(position))?;
    let (kind, value) = if document.capabilities().markdown {
        let text = hover.text.markdown();
        let picture = document
            .capabilities()
            .pictures
            .then(|| sheet::picture(&document.analysis, hover.range.start));
        let shown = picture.flatten().map(|picture| format!("{text}\n\n{picture}"));
        (lsp::MarkupKind::Markdown, shown.unwrap_or(text))
    } else {
        (lsp::MarkupKind::PlainText, hover.text.plain())
    };
    Some(lsp::Hover {
        contents: lsp::HoverContents::Markup(lsp::MarkupContent { kind, value }),
        range: Some(document.range(hover.range)),
    })
}
