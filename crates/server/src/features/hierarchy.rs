//! Upstream and downstream along air, power and wire, shown as a call hierarchy.

use drysheath_ide::{Neighbour, SymbolKind, downstream, thing_at, upstream};
use drysheath_office::ThingId;
use serde_json::Value;
use tower_lsp::lsp_types as lsp;

use crate::document::Document;
use crate::features::symbols::symbol_kind;

/// The thing at a position.
pub(crate) fn prepare(document: &Document, position: lsp::Position) -> Option<Vec<lsp::CallHierarchyItem>> {
    let thing = thing_at(&document.analysis, document.offset(position))?;
    let kind = document.analysis.office.thing(thing).kind?;
    Some(vec![item(document, thing, kind.word().to_owned())?])
}

/// Things upstream of a thing.
pub(crate) fn incoming(
    document: &Document,
    item: &lsp::CallHierarchyItem,
) -> Option<Vec<lsp::CallHierarchyIncomingCall>> {
    let neighbours = upstream(&document.analysis, thing_of(document, item)?);
    let call = |neighbour: Neighbour| {
        Some(lsp::CallHierarchyIncomingCall {
            from_ranges: ranges(document, &neighbour),
            from: self::item(document, neighbour.thing, neighbour.detail)?,
        })
    };
    Some(neighbours.into_iter().filter_map(call).collect())
}

/// Things downstream of a thing.
pub(crate) fn outgoing(
    document: &Document,
    item: &lsp::CallHierarchyItem,
) -> Option<Vec<lsp::CallHierarchyOutgoingCall>> {
    let neighbours = downstream(&document.analysis, thing_of(document, item)?);
    let call = |neighbour: Neighbour| {
        Some(lsp::CallHierarchyOutgoingCall {
            from_ranges: ranges(document, &neighbour),
            to: self::item(document, neighbour.thing, neighbour.detail)?,
        })
    };
    Some(neighbours.into_iter().filter_map(call).collect())
}

fn ranges(document: &Document, neighbour: &Neighbour) -> Vec<lsp::Range> {
    neighbour.ranges.iter().map(|range| document.range(*range)).collect()
}

fn item(document: &Document, thing: ThingId, detail: String) -> Option<lsp::CallHierarchyItem> {
    let office = &document.analysis.office;
    let name = office.name(thing);
    let thing = office.thing(thing);
    let kind = thing.kind?;
    Some(lsp::CallHierarchyItem {
        name: name.to_owned(),
        kind: symbol_kind(SymbolKind::Thing(kind.id)),
        tags: None,
        detail: Some(detail),
        uri: document.uri.clone(),
        range: document.range(thing.range),
        selection_range: document.range(thing.name),
        data: Some(Value::String(name.to_owned())),
    })
}

/// The thing of an item: by the name in its data, or by its place for clients that drop the data.
fn thing_of(document: &Document, item: &lsp::CallHierarchyItem) -> Option<ThingId> {
    let name = item.data.as_ref().and_then(Value::as_str);
    name.and_then(|name| document.analysis.office.named(name))
        .or_else(|| thing_at(&document.analysis, document.offset(item.selection_range.start)))
}
