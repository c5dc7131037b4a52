//! What an office comes to, above its first line.

use drysheath_ide::World;
use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// The command behind every lens: a lens must have one, and this one does nothing.
pub(crate) const COMMAND: &str = "drysheath.nothing";

/// The lenses of a file.
pub(crate) fn lenses(world: &mut World, document: &Document) -> Vec<lsp::CodeLens> {
    let lenses = drysheath_ide::lenses(world, &document.analysis).into_iter();
    lenses
        .map(|lens| lsp::CodeLens {
            range: document.range(lens.range),
            command: Some(lsp::Command::new(lens.title, COMMAND.to_owned(), None)),
            data: None,
        })
        .collect()
}
