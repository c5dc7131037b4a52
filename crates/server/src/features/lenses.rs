//! Code lenses: a summary above the first line of an office.

use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// The command of every lens. The protocol requires one; this one does nothing.
pub(crate) const COMMAND: &str = "drysheath.nothing";

/// The lenses of a file.
pub(crate) fn lenses(document: &Document) -> Vec<lsp::CodeLens> {
    let lenses = drysheath_ide::lenses(&document.snapshot, &document.analysis).into_iter();
    lenses
        .map(|lens| lsp::CodeLens {
            range: document.range(lens.range),
            command: Some(lsp::Command::new(lens.title, COMMAND.to_owned(), None)),
            data: None,
        })
        .collect()
}
