//! Folding ranges and selection ranges.

use drysheath_ide::FoldKind;
use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// Foldable blocks of a file.
pub(crate) fn folding(document: &Document) -> Vec<lsp::FoldingRange> {
    let folds = drysheath_ide::folding(&document.analysis).into_iter();
    folds
        .map(|fold| lsp::FoldingRange {
            start_line: fold.first,
            end_line: fold.last,
            kind: match fold.kind {
                FoldKind::Comment => Some(lsp::FoldingRangeKind::Comment),
                FoldKind::Uses => Some(lsp::FoldingRangeKind::Imports),
                FoldKind::Block | FoldKind::Row => None,
            },
            ..lsp::FoldingRange::default()
        })
        .collect()
}

/// The ranges around each position, from the smallest to the whole file.
pub(crate) fn selection(document: &Document, positions: &[lsp::Position]) -> Vec<lsp::SelectionRange> {
    positions.iter().map(|position| around(document, *position)).collect()
}

fn around(document: &Document, position: lsp::Position) -> lsp::SelectionRange {
    let ranges = drysheath_ide::selection(&document.analysis, document.offset(position));
    let nested = ranges.into_iter().rev().fold(None, |parent, range| {
        Some(lsp::SelectionRange {
            range: document.range(range),
            parent: parent.map(Box::new),
        })
    });
    nested.unwrap_or(lsp::SelectionRange {
        range: lsp::Range::new(position, position),
        parent: None,
    })
}
