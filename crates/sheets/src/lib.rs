//! The sheets that go to the wall: for each office one document with its drawings, its wiring by pair, its limits, what
//! to bring, and what to do in the order in which it is safe.
//!
//! This crate lays out what other crates compute; it computes nothing but layout. A sheet is text without a script; it
//! is the same for the same office, byte by byte.

#![allow(
    clippy::cast_precision_loss,
    reason = "counts of lines, rows and columns on paper are far below what a float tells apart"
)]

mod air;
mod comparison;
mod cover;
mod diagram;
mod document;
mod drawings;
mod facts;
mod index;
mod limits;
mod mark;
mod material;
mod metric;
mod notes;
mod page;
mod pairs;
mod plot;
mod power;
mod pressure;
mod shapes;
mod since;
mod steps;
mod symbols;
mod table;
mod web_page;
mod wiring;

use drysheath_office::kinds::Key;
use drysheath_office::{Date, Fields, Office};
use drysheath_report::OfficeView;
use drysheath_rules::Finding;

pub use comparison::comparison_page;
use document::{RunningHead, document};
pub use drawings::{Drawing, STYLE, drawings, profile};
use facts::Facts;
pub use index::{OfficeEntry, entry, index};
pub use material::{Amount, Group, Material, spare_ports};
use page::{Block, Part, pages};
pub use pressure::ComparedState;
use since::Marks;
pub use since::{Since, is_work};

/// Input for the sheets of an office.
pub struct Subject<'a> {
    /// The office without things excluded because of their stage, and its computed results.
    pub view: OfficeView<'a>,
    /// The office with everything its file contains.
    pub whole: &'a Office,
    /// Findings of the office.
    pub findings: &'a [Finding],
    /// Date printed on every page.
    pub date: Date,
    /// Revision of its file, if known.
    pub revision: Option<&'a str>,
    /// Revision that the sheets are a work order against, if they are one.
    pub since: Option<Since<'a>>,
}

/// The pressure along each cable, branch and air pipe of an office, in the normal state and optionally in another one:
/// a file name and the picture as SVG.
pub fn pictures(view: OfficeView<'_>, beside: Option<ComparedState<'_>>, date: Date) -> Vec<(String, String)> {
    let facts = Facts::new(view, Marks::default());
    let pictures = pressure::pictures(&facts, beside, date).into_iter();
    pictures
        .map(|picture| (picture.file.clone(), pressure::document(&picture)))
        .collect()
}

/// Id of the cover part.
const COVER: &str = "cover";

/// Writes the sheets of an office as one HTML document.
pub fn sheets(subject: &Subject<'_>) -> String {
    let facts = Facts::new(subject.view, Marks::new(subject.since));
    let office = subject.view.office;
    let itself = office.itself.map(|id| office.thing(id));
    let named = office
        .itself
        .map_or("", |id| office.title(id).unwrap_or(office.name(id)));
    let running = RunningHead {
        office: named.to_owned(),
        site: itself.and_then(|office| office.text(Key::Site)).map(str::to_owned),
        date: subject.date,
        revision: subject.revision.map(str::to_owned),
        since: subject.since.map(|since| since.revision.to_owned()),
    };
    document(&running, &pages(parts(subject, &facts)))
}

fn parts(subject: &Subject<'_>, facts: &Facts<'_>) -> Vec<Part> {
    let missing: Vec<String> = facts
        .prediction
        .missing
        .iter()
        .map(|gap| gap.what.replace('`', ""))
        .collect();
    let air = air::diagram(facts);
    let (power, ground) = (power::power(facts), power::ground(facts));
    let material = Material::of(
        facts.office,
        facts.networks,
        &material::spare_ports(facts.office, &facts.allocation),
    );
    // What the work order removes is drawn as it was.
    let earlier = subject.since.and_then(|since| since.office).map(|before| {
        let view = OfficeView::of(&before.analysis, subject.view.files);
        Facts::new(view, Marks::before(before, facts.office, facts.networks))
    });
    let earlier = earlier.as_ref();
    let before = earlier.map(|earlier| {
        let spare = material::spare_ports(earlier.office, &earlier.allocation);
        Material::of(earlier.office, earlier.networks, &spare)
    });
    let material = before
        .as_ref()
        .map_or_else(|| material.clone(), |before| material.beyond(before));
    let drawing = |title: &'static str, id: &'static str, blocks: Vec<Block>| Part {
        title,
        id,
        taken: if id == COVER { document::TITLE } else { 0.0 },
        blocks,
    };
    let mut pressures = Vec::new();
    for picture in pressure::pictures(facts, None, subject.date) {
        pressures.push(Block::Picture(picture.svg, picture.height));
        pressures.push(Block::Table(picture.table));
    }
    let mut parts = vec![
        drawing("What this is", COVER, cover::blocks(facts, subject.findings, &missing)),
        drawing("Notes", "notes", notes::blocks(subject.whole)),
        drawing(
            "Air",
            "air",
            drawn(
                "air of the office, from the dryer to the ends of the cables",
                &[air],
                earlier.map(|earlier| vec![air::diagram(earlier)]),
            ),
        ),
        drawing("Wiring", "wiring", wiring_blocks(facts, earlier)),
        drawing(
            "Power and ground",
            "power",
            drawn(
                "power and ground of the office",
                &[power, ground],
                earlier.map(|earlier| vec![power::power(earlier), power::ground(earlier)]),
            ),
        ),
        drawing("Pairs", "pairs", pairs::blocks(facts)),
        drawing("Limits", "limits", limits::blocks(facts)),
        drawing("Material", "material", material::blocks(&material, before.is_some())),
        drawing("Steps", "steps", steps::blocks(facts, subject.since.as_ref())),
    ];
    if !pressures.is_empty() {
        parts.push(drawing("Pressure", "pressure", pressures));
    }
    if let Some(since) = &subject.since {
        parts.insert(1, drawing("Work order", "work", since::blocks(since)));
    }
    parts
}

/// Heading of drawings of the earlier state.
const AS_IT_WAS: &str = "As it was: what is dashed is taken out";

/// Drawings and their legend. If something is removed, the drawings of the earlier state follow.
fn drawn(what: &str, diagrams: &[diagram::Diagram], earlier: Option<Vec<diagram::Diagram>>) -> Vec<Block> {
    let earlier: Vec<diagram::Diagram> = earlier
        .into_iter()
        .flatten()
        .filter(diagram::Diagram::has_removed)
        .collect();
    let mut symbols: Vec<symbols::Symbol> = diagrams
        .iter()
        .chain(&earlier)
        .flat_map(|diagram| diagram.nodes.iter().map(|node| node.symbol))
        .collect();
    symbols.sort_unstable();
    symbols.dedup();
    if symbols.is_empty() {
        return vec![Block::Paragraph("The file says nothing of it.".to_owned())];
    }
    let strips = |diagrams: &[diagram::Diagram]| diagrams.iter().flat_map(diagram::Diagram::strips).collect();
    let (legend, height) = symbols::legend(&symbols);
    let mut blocks = vec![
        Block::Picture(legend, height),
        Block::Drawing(what.to_owned(), strips(diagrams)),
    ];
    if !earlier.is_empty() {
        blocks.push(Block::Heading(AS_IT_WAS.to_owned()));
        blocks.push(Block::Drawing(format!("{what}, as it was"), strips(&earlier)));
    }
    blocks
}

fn wiring_blocks(facts: &Facts<'_>, earlier: Option<&Facts<'_>>) -> Vec<Block> {
    let strips = wiring::strips(facts, |_| true);
    let removed = earlier.map_or_else(Vec::new, |earlier| {
        wiring::strips(earlier, |mark| mark == mark::Mark::Removed)
    });
    if strips.is_empty() && removed.is_empty() {
        return vec![Block::Paragraph(
            "No signal of the office leads to an input.".to_owned(),
        )];
    }
    let mut blocks = vec![
        Block::Paragraph(
            "Each signal from its device over cables, leads and blocks to its input. Colours are tip and ring."
                .to_owned(),
        ),
        Block::Drawing("wiring of the office, one row for each signal".to_owned(), strips),
    ];
    if !removed.is_empty() {
        blocks.push(Block::Heading(AS_IT_WAS.to_owned()));
        blocks.push(Block::Drawing("wiring that is taken out".to_owned(), removed));
    }
    blocks
}
