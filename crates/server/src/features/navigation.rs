//! Definitions, type definitions, references and highlights.

use drysheath_ide::Declaration;
use drysheath_text::TextRange;
use tower_lsp::lsp_types as lsp;

use crate::convert::{PositionConverter, location};
use crate::document::Document;
use crate::uri::uri_of;

/// Where the name at a position is declared.
pub(crate) fn definition(document: &Document, position: lsp::Position) -> Option<lsp::GotoDefinitionResponse> {
    let found = drysheath_ide::definition(&document.snapshot, &document.analysis, document.offset(position));
    response(document, found)
}

/// Declaration of the part that the thing at a position uses.
pub(crate) fn type_definition(document: &Document, position: lsp::Position) -> Option<lsp::GotoDefinitionResponse> {
    let found = drysheath_ide::type_definition(&document.snapshot, &document.analysis, document.offset(position));
    response(document, found)
}

/// Links with the origin range for clients that support them, otherwise only locations.
fn response(document: &Document, found: Option<(TextRange, Vec<Declaration>)>) -> Option<lsp::GotoDefinitionResponse> {
    let (origin, targets) = found?;
    if targets.is_empty() {
        return None;
    }
    let encoding = document.positions.encoding;
    let places = targets
        .iter()
        .filter_map(|target| Some((target, location(&document.snapshot, target.place, encoding)?)));
    if !document.capabilities().location_links {
        let locations = places.map(|(_, location)| location);
        return Some(lsp::GotoDefinitionResponse::Array(locations.collect()));
    }
    let links = places.filter_map(|(target, selection)| {
        let place = drysheath_text::Place {
            file: target.place.file,
            range: target.whole,
        };
        Some(lsp::LocationLink {
            origin_selection_range: Some(document.range(origin)),
            target_range: location(&document.snapshot, place, encoding)?.range,
            target_uri: selection.uri,
            target_selection_range: selection.range,
        })
    });
    Some(lsp::GotoDefinitionResponse::Link(links.collect()))
}

/// Places where the name at a position is used, and its declaration if requested.
pub(crate) fn references(document: &Document, position: lsp::Position, declaration: bool) -> Vec<lsp::Location> {
    let mut locations = Vec::new();
    for mentioned in drysheath_ide::references(&document.snapshot, &document.analysis, document.offset(position)) {
        let snapshot = &document.snapshot;
        let uri = snapshot.path(mentioned.file).and_then(|path| uri_of(&path));
        let positions = PositionConverter::of(snapshot, mentioned.file, document.positions.encoding);
        let (Some(uri), Some(positions)) = (uri, positions) else {
            continue;
        };
        let wanted = mentioned.places.iter().filter(|(_, declares)| declaration || !declares);
        locations.extend(wanted.map(|(range, _)| lsp::Location::new(uri.clone(), positions.range(*range))));
    }
    locations
}

/// Places where the name at a position occurs in its file.
pub(crate) fn highlights(document: &Document, position: lsp::Position) -> Vec<lsp::DocumentHighlight> {
    let places = drysheath_ide::highlights(&document.analysis, document.offset(position)).into_iter();
    let highlight = |(range, declares)| lsp::DocumentHighlight {
        range: document.range(range),
        kind: Some(if declares {
            lsp::DocumentHighlightKind::WRITE
        } else {
            lsp::DocumentHighlightKind::READ
        }),
    };
    places.map(highlight).collect()
}
