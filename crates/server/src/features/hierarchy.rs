//! Upstream and downstream along air and wire, as calls.

use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// The thing at a position.
pub(crate) fn prepare(_document: &Document, _position: lsp::Position) -> Option<Vec<lsp::CallHierarchyItem>> {
    None
}

/// What leads to a thing.
pub(crate) fn incoming(
    _document: &Document,
    _item: &lsp::CallHierarchyItem,
) -> Option<Vec<lsp::CallHierarchyIncomingCall>> {
    None
}

/// What a thing leads to.
pub(crate) fn outgoing(
    _document: &Document,
    _item: &lsp::CallHierarchyItem,
) -> Option<Vec<lsp::CallHierarchyOutgoingCall>> {
    None
}
