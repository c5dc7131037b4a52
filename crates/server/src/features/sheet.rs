//! The drawings of an office, for a preview beside its text. A custom request, described in grammar/server.md for any
//! editor.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use drysheath_report::{OfficeView, line_as_asked};
use drysheath_sheets::{Drawing, STYLE, drawings, profile};
use drysheath_workspace::{Analysis, Texts};
use serde::{Deserialize, Serialize};
use tower_lsp::lsp_types as lsp;

use crate::convert::location;
use crate::document::Document;
use crate::scan::today;

/// Method name of the request.
pub(crate) const METHOD: &str = "drysheath/sheet";

/// Parameters of the request.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct Parameters {
    pub text_document: lsp::TextDocumentIdentifier,
}

/// The drawings of an office, and the places where its things are declared.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct Sheet {
    /// Version of the text they are drawn from.
    version: Option<i32>,
    /// Title of the office.
    title: String,
    /// Style sheet for the drawings.
    style: &'static str,
    drawings: Vec<Drawing>,
    things: Vec<Thing>,
}

#[derive(Debug, Serialize)]
struct Thing {
    name: String,
    location: lsp::Location,
}

/// Drawings of a file. `None` if it is not an office.
pub(crate) fn sheet(document: &Document) -> Option<Sheet> {
    let analysis = &document.analysis;
    let office = analysis.present();
    let itself = office.itself?;
    // The drawings show no places in files, so no texts are needed.
    let texts = Texts::default();
    let things = office.things().filter_map(|(id, thing)| {
        let place = office.written(office.place(thing.name));
        Some(Thing {
            name: office.name(id).to_owned(),
            location: location(&document.snapshot, place, document.positions.encoding)?,
        })
    });
    Some(Sheet {
        version: analysis.version,
        title: office.title(itself).unwrap_or(office.name(itself)).to_owned(),
        style: STYLE,
        drawings: drawings(OfficeView::of(analysis, &texts), today()),
        things: things.collect(),
    })
}

/// The pressure along the cable, branch or pipe named at an offset, as a picture in Markdown.
pub(crate) fn picture(analysis: &Analysis, offset: u32) -> Option<String> {
    let (thing, branch) = drysheath_ide::line_at(analysis, offset)?;
    let texts = Texts::default();
    let svg = profile(OfficeView::of(analysis, &texts), thing, branch, today())?;
    let name = line_as_asked(analysis.office.name(thing), branch);
    Some(format!(
        "![pressure along {}](data:image/svg+xml;base64,{})",
        drysheath_text::safe::markdown(&name),
        STANDARD.encode(svg)
    ))
}
