//! What could be written next.

use drysheath_ide::{Completion, CompletionKind, World, completions};
use tower_lsp::lsp_types as lsp;

use crate::document::Document;

/// What could be written at a position, the likeliest first.
pub(crate) fn completion(
    world: &World,
    document: &Document,
    parameters: &lsp::CompletionParams,
) -> Vec<lsp::CompletionItem> {
    let at = document.offset(parameters.text_document_position.position);
    let all = completions(world, &document.analysis, at);
    all.into_iter()
        .enumerate()
        .map(|(number, completion)| item(document, number, completion))
        .collect()
}

/// A completion. Its number keeps it in its place: clients sort by the letters otherwise.
fn item(document: &Document, number: usize, completion: Completion) -> lsp::CompletionItem {
    let (new_text, format) = match completion.snippet.filter(|_| document.abilities().snippets) {
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
