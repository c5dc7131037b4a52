//! Where a name is declared, what part it is of, and where it is used.

use drysheath_ide::World;
use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// Where the name at a position is declared.
pub(crate) fn definition(_world: &mut World, _document: &Document, _position: lsp::Position) -> Vec<lsp::Location> {
    Vec::new()
}

/// The part that the thing at a position is one of.
pub(crate) fn type_definition(
    _world: &mut World,
    _document: &Document,
    _position: lsp::Position,
) -> Vec<lsp::Location> {
    Vec::new()
}

/// Where the name at a position is used, and declared if that is wanted.
pub(crate) fn references(
    _world: &mut World,
    _document: &Document,
    _position: lsp::Position,
    _declaration: bool,
) -> Vec<lsp::Location> {
    Vec::new()
}

/// Where the name at a position stands in its file.
pub(crate) fn highlights(_document: &Document, _position: lsp::Position) -> Vec<lsp::DocumentHighlight> {
    Vec::new()
}
