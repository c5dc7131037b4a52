//! Completion (`textDocument/completion`).

use drysheath_ide::{Completion, CompletionKind, completions};
use drysheath_text::TextRange;
use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// Maximum number of completions: more are not read, and slow down the editor at each letter.
const MOST: usize = 300;

/// The completions at a position, the most likely first.
pub(crate) fn completion(document: &Document, parameters: &lsp::CompletionParams) -> lsp::CompletionList {
    let at = document.offset(parameters.text_document_position.position);
    let mut all = completions(&document.snapshot, &document.analysis, at);
    // Of too many, those that start with the text already written; the editor asks again after the next letter.
    let is_incomplete = all.len() > MOST;
    if is_incomplete {
        all.retain(|completion| goes_on(document, at, completion));
        all.truncate(MOST);
    }
    let items = all
        .into_iter()
        .enumerate()
        .map(|(number, completion)| item(document, number, completion));
    lsp::CompletionList {
        is_incomplete,
        items: items.collect(),
    }
}

/// Whether a completion starts with the text before the caret.
fn goes_on(document: &Document, at: u32, completion: &Completion) -> bool {
    let written = TextRange::new(completion.replace.start, at).of(&document.analysis.text);
    completion.label.starts_with(written)
}

/// Converts a completion. Its number keeps the order, since clients would otherwise sort alphabetically.
fn item(document: &Document, number: usize, completion: Completion) -> lsp::CompletionItem {
    let (new_text, format) = match completion.snippet.filter(|_| document.capabilities().snippets) {
        Some(snippet) => (snippet, lsp::InsertTextFormat::SNIPPET),
        None => (completion.insert, lsp::InsertTextFormat::PLAIN_TEXT),
    };
    let edit = lsp::TextEdit::new(document.range(completion.replace), new_text);
    let also = document.positions.edits(&completion.also);
    lsp::CompletionItem {
        filter_text: Some(completion.label.clone()),
        label: completion.label,
        kind: Some(kind(completion.kind)),
        detail: Some(completion.detail).filter(|detail| !detail.is_empty()),
        documentation: Some(completion.documentation)
            .filter(|words| !words.is_empty())
            .map(lsp::Documentation::String),
        sort_text: Some(format!("{number:05}")),
        text_edit: Some(lsp::CompletionTextEdit::Edit(edit)),
        insert_text_format: Some(format),
        additional_text_edits: Some(also).filter(|also| !also.is_empty()),
        ..lsp::CompletionItem::default()
    }
}

fn kind(kind: CompletionKind) -> lsp::CompletionItemKind {
    match kind {
        CompletionKind::Kind => lsp::CompletionItemKind::CLASS,
        CompletionKind::Keyword => lsp::CompletionItemKind::KEYWORD,
        CompletionKind::Field => lsp::CompletionItemKind::FIELD,
        CompletionKind::Choice => lsp::CompletionItemKind::ENUM_MEMBER,
        CompletionKind::Unit => lsp::CompletionItemKind::UNIT,
        CompletionKind::Value | CompletionKind::NextFree | CompletionKind::Date => lsp::CompletionItemKind::VALUE,
        CompletionKind::Thing => lsp::CompletionItemKind::VARIABLE,
        CompletionKind::Port => lsp::CompletionItemKind::PROPERTY,
        CompletionKind::Part => lsp::CompletionItemKind::STRUCT,
        CompletionKind::File => lsp::CompletionItemKind::FILE,
        CompletionKind::Rule => lsp::CompletionItemKind::EVENT,
        CompletionKind::Colour => lsp::CompletionItemKind::COLOR,
        CompletionKind::Text => lsp::CompletionItemKind::TEXT,
    }
}
