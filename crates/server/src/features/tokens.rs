//! Semantic tokens (`textDocument/semanticTokens`): full, as a difference, and for a range.

use std::collections::VecDeque;
use std::sync::{Mutex, PoisonError};

use drysheath_ide::{Class, Coloured, tokens};
use drysheath_text::{Encoding, TextRange};
use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// Protocol name of each class. A class is sent as its index in this table.
const TYPES: [(Class, lsp::SemanticTokenType); 14] = [
    (Class::Keyword, lsp::SemanticTokenType::KEYWORD),
    (Class::Kind, lsp::SemanticTokenType::TYPE),
    (Class::Thing, lsp::SemanticTokenType::VARIABLE),
    (Class::Inner, lsp::SemanticTokenType::PARAMETER),
    (Class::Part, lsp::SemanticTokenType::CLASS),
    (Class::Field, lsp::SemanticTokenType::PROPERTY),
    (Class::Choice, lsp::SemanticTokenType::ENUM_MEMBER),
    (Class::Number, lsp::SemanticTokenType::NUMBER),
    (Class::Unit, lsp::SemanticTokenType::MACRO),
    (Class::Text, lsp::SemanticTokenType::STRING),
    (Class::Comment, lsp::SemanticTokenType::COMMENT),
    (Class::Rule, lsp::SemanticTokenType::FUNCTION),
    (Class::Path, lsp::SemanticTokenType::NAMESPACE),
    (Class::Operator, lsp::SemanticTokenType::OPERATOR),
];
/// Bit of the only modifier.
const DECLARATION: u32 = 1;

/// Token types, in the order of their indices.
pub(crate) fn legend() -> lsp::SemanticTokensLegend {
    lsp::SemanticTokensLegend {
        token_types: TYPES.map(|(_, name)| name).to_vec(),
        token_modifiers: vec![lsp::SemanticTokenModifier::DECLARATION],
    }
}

/// The last answers, so that the next one can be sent as a difference.
#[derive(Debug, Default)]
pub(crate) struct TokenCache(Mutex<Kept>);

#[derive(Debug, Default)]
struct Kept {
    /// Number of the last answer.
    last: u64,
    answers: VecDeque<Answer>,
}

#[derive(Debug)]
struct Answer {
    id: String,
    uri: lsp::Url,
    tokens: Vec<lsp::SemanticToken>,
}

impl TokenCache {
    /// Drops the last answer for a file that was closed.
    pub fn forget(&self, uri: &lsp::Url) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.answers.retain(|answer| answer.uri != *uri);
    }

    /// Replaces the last answer for a file. Returns the id of the new answer, and the tokens of the old one if its id
    /// is `previous`.
    fn keep(
        &self,
        uri: &lsp::Url,
        tokens: &[lsp::SemanticToken],
        previous: Option<&str>,
    ) -> (String, Option<Vec<lsp::SemanticToken>>) {
        /// Maximum number of files: an editor only asks for those it shows.
        const MOST: usize = 12;
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let before = kept.answers.iter().position(|answer| answer.uri == *uri);
        let before = before.and_then(|at| kept.answers.remove(at));
        kept.last += 1;
        let id = kept.last.to_string();
        kept.answers.push_front(Answer {
            id: id.clone(),
            uri: uri.clone(),
            tokens: tokens.to_vec(),
        });
        kept.answers.truncate(MOST);
        let before = before.filter(|answer| Some(&*answer.id) == previous);
        (id, before.map(|answer| answer.tokens))
    }
}

/// The tokens of a file.
pub(crate) fn full(document: &Document, cache: &TokenCache) -> lsp::SemanticTokens {
    let data = encoded(document, &tokens(&document.analysis, None));
    let (id, _) = cache.keep(&document.uri, &data, None);
    lsp::SemanticTokens {
        result_id: Some(id),
        data,
    }
}

/// The difference to the answer with the id `previous`, or all tokens if that answer is no longer stored.
pub(crate) fn delta(document: &Document, previous: &str, cache: &TokenCache) -> lsp::SemanticTokensFullDeltaResult {
    let data = encoded(document, &tokens(&document.analysis, None));
    let (id, before) = cache.keep(&document.uri, &data, Some(previous));
    let result_id = Some(id);
    match before {
        Some(before) => lsp::SemanticTokensFullDeltaResult::TokensDelta(lsp::SemanticTokensDelta {
            result_id,
            edits: changes(&before, &data).into_iter().collect(),
        }),
        None => lsp::SemanticTokensFullDeltaResult::Tokens(lsp::SemanticTokens { result_id, data }),
    }
}

/// The tokens within a range.
pub(crate) fn within(document: &Document, range: lsp::Range) -> lsp::SemanticTokens {
    let range: TextRange = document.positions.bytes(range);
    lsp::SemanticTokens {
        result_id: None,
        data: encoded(document, &tokens(&document.analysis, Some(range))),
    }
}

/// One edit of everything between the common beginning and the common end. `None` if nothing has changed.
fn changes(before: &[lsp::SemanticToken], now: &[lsp::SemanticToken]) -> Option<lsp::SemanticTokensEdit> {
    /// Number of integers that the protocol sends per token.
    const NUMBERS: usize = 5;
    let same = |pairs: &mut dyn Iterator<Item = (&lsp::SemanticToken, &lsp::SemanticToken)>| {
        pairs.take_while(|(one, other)| one == other).count()
    };
    let shorter = before.len().min(now.len());
    let head = same(&mut before.iter().zip(now));
    let tail = same(&mut before.iter().rev().zip(now.iter().rev())).min(shorter - head);
    let deleted = before.len() - head - tail;
    let inserted = now.get(head..now.len() - tail).unwrap_or_default();
    (deleted > 0 || !inserted.is_empty()).then(|| lsp::SemanticTokensEdit {
        start: (head * NUMBERS) as u32,
        delete_count: (deleted * NUMBERS) as u32,
        data: (!inserted.is_empty()).then(|| inserted.to_vec()),
    })
}

/// Encodes the tokens, with positions relative to the previous token.
fn encoded(document: &Document, tokens: &[Coloured]) -> Vec<lsp::SemanticToken> {
    let mut last = lsp::Position::default();
    tokens
        .iter()
        .map(|token| {
            let at = document.positions.position(token.range.start);
            let delta_line = at.line - last.line;
            let before = if delta_line == 0 { last.character } else { 0 };
            last = at;
            lsp::SemanticToken {
                delta_line,
                delta_start: at.character - before,
                length: length(document, token.range),
                token_type: number(token.class),
                token_modifiers_bitset: if token.declares { DECLARATION } else { 0 },
            }
        })
        .collect()
}

fn length(document: &Document, range: TextRange) -> u32 {
    let written = range.of(&document.analysis.text);
    match document.positions.encoding {
        Encoding::Utf8 => written.len() as u32,
        Encoding::Utf16 => written.encode_utf16().count() as u32,
        Encoding::Utf32 => written.chars().count() as u32,
    }
}

fn number(class: Class) -> u32 {
    let at = TYPES.iter().position(|(own, _)| *own == class);
    at.unwrap_or_default() as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    fn token(length: u32) -> lsp::SemanticToken {
        lsp::SemanticToken {
            length,
            ..lsp::SemanticToken::default()
        }
    }

    #[test]
    fn changes_turn_one_answer_into_the_next() {
        for (before, now) in [
            (vec![1, 2, 3], vec![1, 2, 3]),
            (vec![1, 2, 3], vec![1, 3]),
            (vec![1, 3], vec![1, 2, 3]),
            (vec![1, 1], vec![1, 1, 1]),
            (vec![1, 1, 1], vec![1]),
            (vec![], vec![4]),
            (vec![4], vec![]),
            (vec![1, 2, 3], vec![1, 9, 3]),
        ] {
            let before: Vec<_> = before.into_iter().map(token).collect();
            let now: Vec<_> = now.into_iter().map(token).collect();
            let mut turned = before.clone();
            if let Some(edit) = changes(&before, &now) {
                let (start, count) = (edit.start as usize / 5, edit.delete_count as usize / 5);
                turned.splice(start..start + count, edit.data.unwrap_or_default());
            }
            assert_eq!(turned, now);
        }
        assert_eq!(changes(&[token(1)], &[token(1)]), None);
    }

    #[test]
    fn an_answer_is_known_by_its_id_until_the_next() {
        let cache = TokenCache::default();
        let Ok(uri) = lsp::Url::parse("file:///a.office") else {
            return;
        };
        let (first, _) = cache.keep(&uri, &[token(1)], None);
        let (second, before) = cache.keep(&uri, &[token(2)], Some(&first));
        assert_eq!(before, Some(vec![token(1)]));
        let (third, before) = cache.keep(&uri, &[token(3)], Some(&first));
        assert_eq!(before, None, "{second} is the last");
        cache.forget(&uri);
        assert_eq!(
            cache.keep(&uri, &[token(4)], Some(&third)).1,
            None,
            "the file was closed"
        );
    }
}
