//! Symbols of a document and of the workspace.

use drysheath_ide::{OutlineItem, SymbolKind, outline, search};
use drysheath_office::kinds::{Key, KindId};
use drysheath_text::Encoding;
use drysheath_workspace::Snapshot;
use tower_lsp::lsp_types as lsp;

use crate::convert::location;
use crate::document::Document;

/// The things of a file: nested, or as a flat list for clients without support for nesting.
pub(crate) fn of_document(document: &Document) -> lsp::DocumentSymbolResponse {
    let entries = outline(&document.analysis);
    if document.capabilities().nested_symbols {
        let nested = entries.iter().map(|entry| nested(document, entry));
        return lsp::DocumentSymbolResponse::Nested(nested.collect());
    }
    let mut flat = Vec::new();
    flatten(document, &entries, None, &mut flat);
    lsp::DocumentSymbolResponse::Flat(flat)
}

#[allow(deprecated, reason = "the structure has a field that is")]
fn nested(document: &Document, entry: &OutlineItem) -> lsp::DocumentSymbol {
    let children: Vec<_> = entry.children.iter().map(|child| nested(document, child)).collect();
    lsp::DocumentSymbol {
        name: entry.name.clone(),
        detail: Some(entry.detail.clone()).filter(|detail| !detail.is_empty()),
        kind: symbol_kind(entry.kind),
        tags: None,
        deprecated: None,
        range: document.range(entry.range),
        selection_range: document.range(entry.selection),
        children: Some(children).filter(|children| !children.is_empty()),
    }
}

#[allow(deprecated, reason = "the structure has a field that is")]
fn flatten(
    document: &Document,
    entries: &[OutlineItem],
    container: Option<&str>,
    flat: &mut Vec<lsp::SymbolInformation>,
) {
    for entry in entries {
        flat.push(lsp::SymbolInformation {
            name: entry.name.clone(),
            kind: symbol_kind(entry.kind),
            tags: None,
            deprecated: None,
            location: lsp::Location::new(document.uri.clone(), document.range(entry.range)),
            container_name: container.map(str::to_owned),
        });
        flatten(document, &entry.children, Some(&entry.name), flat);
    }
}

/// The things of all files whose names contain the letters of `query` in this order.
#[allow(deprecated, reason = "the structure has a field that is")]
pub(crate) fn of_workspace(snapshot: &Snapshot, query: &str, encoding: Encoding) -> Vec<lsp::SymbolInformation> {
    let hits = search(snapshot, query).into_iter();
    let symbol = |hit: drysheath_ide::Hit| {
        Some(lsp::SymbolInformation {
            kind: symbol_kind(hit.kind),
            location: location(snapshot, hit.place, encoding)?,
            name: hit.name,
            tags: None,
            deprecated: None,
            container_name: Some(hit.file),
        })
    };
    hits.filter_map(symbol).collect()
}

/// The protocol only has symbol kinds of programming languages; picks the one with the most similar icon.
pub(crate) fn symbol_kind(kind: SymbolKind) -> lsp::SymbolKind {
    match kind {
        SymbolKind::Thing(KindId::Office) => lsp::SymbolKind::MODULE,
        SymbolKind::Thing(kind) => thing_kind(kind),
        SymbolKind::Part(_) => lsp::SymbolKind::CLASS,
        SymbolKind::Named(Key::Contact) => lsp::SymbolKind::EVENT,
        SymbolKind::Named(Key::Branch) => lsp::SymbolKind::INTERFACE,
        SymbolKind::Named(_) | SymbolKind::Group(_) => lsp::SymbolKind::FIELD,
        SymbolKind::Limit => lsp::SymbolKind::CONSTANT,
    }
}

fn thing_kind(kind: KindId) -> lsp::SymbolKind {
    match kind {
        KindId::Office => lsp::SymbolKind::MODULE,
        KindId::Room | KindId::Assembly | KindId::Route => lsp::SymbolKind::NAMESPACE,
        KindId::Battery | KindId::FusePanel | KindId::GroundBar => lsp::SymbolKind::KEY,
        KindId::Dryer
        | KindId::Bottle
        | KindId::Tank
        | KindId::Regulator
        | KindId::Valve
        | KindId::Filter
        | KindId::Manifold
        | KindId::Other => lsp::SymbolKind::OBJECT,
        KindId::AirPipe | KindId::Cable | KindId::Lead => lsp::SymbolKind::INTERFACE,
        KindId::FlowSensor | KindId::PressureSensor | KindId::HumiditySensor | KindId::DewPointSensor => {
            lsp::SymbolKind::VARIABLE
        }
        KindId::Contact | KindId::PressureSwitch => lsp::SymbolKind::EVENT,
        KindId::Block => lsp::SymbolKind::ARRAY,
        KindId::Monitor => lsp::SymbolKind::FUNCTION,
    }
}
