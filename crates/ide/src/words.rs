//! The statement and token at an offset.

use drysheath_office::{Meaning, SemanticToken};
use drysheath_syntax::Statement;
use drysheath_workspace::Analysis;

/// The token at an offset. Between two tokens it is the second, unless that is punctuation.
pub(crate) fn token_at(analysis: &Analysis, offset: u32) -> Option<SemanticToken> {
    let statement = statement_at(analysis, offset)?;
    let tokens = analysis.office.semantic_tokens(&analysis.tree, statement);
    let touching = tokens
        .into_iter()
        .filter(|token| token.range.start <= offset && offset <= token.range.end && !token.range.is_empty());
    touching
        .rev()
        .min_by_key(|token| matches!(token.meaning, Meaning::Punctuation | Meaning::Operator))
}

/// The statement at an offset, including its end.
pub(crate) fn statement_at(analysis: &Analysis, offset: u32) -> Option<&Statement> {
    let statements = &analysis.tree.statements;
    let at = statements.partition_point(|statement| statement.range.end < offset);
    statements.get(at).filter(|statement| statement.range.start <= offset)
}
