//! What each word is, for colours.

use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// The kinds of tokens, in the order of their numbers.
pub(crate) fn legend() -> lsp::SemanticTokensLegend {
    lsp::SemanticTokensLegend::default()
}

/// The tokens of a file.
pub(crate) fn full(_document: &Document) -> lsp::SemanticTokens {
    lsp::SemanticTokens::default()
}

/// What has changed since the answer of that id, or all of them if that is not known any more.
pub(crate) fn delta(document: &Document, _previous: &str) -> lsp::SemanticTokensFullDeltaResult {
    lsp::SemanticTokensFullDeltaResult::Tokens(full(document))
}

/// The tokens within a range.
pub(crate) fn within(_document: &Document, _range: lsp::Range) -> lsp::SemanticTokens {
    lsp::SemanticTokens::default()
}
