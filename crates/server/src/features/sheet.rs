//! The drawings of an office, for a view beside its text. The request is our own; grammar/server.md describes it for any editor.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use drysheath_report::{View, line_as_asked};
use drysheath_sheets::{Drawing, STYLE, drawings, profile};
use drysheath_workspace::{Analysis, Texts};
use serde::{Deserialize, Serialize};
use tower_lsp::lsp_types as lsp;

use crate::convert::location;
use crate::document::Document;
use crate::scan::today;

/// The name of the request.
pub(crate) const METHOD: &str = "drysheath/sheet";

/// What is asked.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct Parameters {
    pub text_document: lsp::TextDocumentIdentifier,
}

/// The drawings of an office, and where its things are declared.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct Sheet {
    /// The version of the text that they are drawn from.
    version: Option<i32>,
    /// What the office is called.
    title: String,
    /// The style that the drawings are shown with.
    style: &'static str,
    drawings: Vec<Drawing>,
    things: Vec<Thing>,
}

#[derive(Debug, Serialize)]
struct Thing {
    name: String,
    location: lsp::Location,
}

/// The sheet of a file. None of a file without an office.
pub(crate) fn sheet(document: &Document) -> Option<Sheet> {
    let analysis = &document.analysis;
    let office = analysis.present();
    let itself = office.itself?;
    // The drawings show no place in a file.
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
        drawings: drawings(View::of(analysis, &texts), today()),
        things: things.collect(),
    })
}

/// The pressure along the cable, branch or pipe that is named at an offset, as a picture in Markdown.
pub(crate) fn picture(analysis: &Analysis, offset: u32) -> Option<String> {
    let (thing, branch) = drysheath_ide::line_at(analysis, offset)?;
    let texts = Texts::default();
    let svg = profile(View::of(analysis, &texts), thing, branch, today())?;
    let name = line_as_asked(analysis.office.name(thing), branch);
    Some(format!(
        "![pressure along {}](data:image/svg+xml;base64,{})",
        drysheath_text::safe::markdown(&name),
        STANDARD.encode(svg)
    ))
}
