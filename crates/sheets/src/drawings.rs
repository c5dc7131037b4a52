//! The drawings of an office without pages, for a preview that follows edits, and the pressure along one line, for
//! places with room for a single picture.

use drysheath_office::{Date, ThingId};
use drysheath_report::OfficeView;
use maud::Markup;
use serde::Serialize;

use crate::facts::Facts;
use crate::page::drawn;
use crate::pressure;
use crate::since::Marks;
use crate::{air, power, wiring};

/// Style sheet of the drawings, the same as that of the sheets.
pub const STYLE: &str = include_str!("sheet.css");

/// A drawing of an office.
#[derive(Clone, Debug, Serialize)]
pub struct Drawing {
    /// Identifies the drawing among those of its office, stable across edits: `air`, `wiring`, `pressure c101`.
    pub id: String,
    /// Title of the drawing, as text.
    pub title: String,
    /// The drawing as SVG, to be shown in a page with [`STYLE`]. Safe to embed: all text in it is escaped.
    pub svg: String,
}

/// The drawings of an office: air, wiring, power, ground, and the pressure along each line. Drawings without content
/// are left out.
pub fn drawings(view: OfficeView<'_>, date: Date) -> Vec<Drawing> {
    let facts = Facts::new(view, Marks::default());
    let whole = [
        ("air", "Air", air::diagram(&facts).strips()),
        ("wiring", "Wiring", wiring::strips(&facts, |_| true)),
        ("power", "Power", power::power(&facts).strips()),
        ("ground", "Ground", power::ground(&facts).strips()),
    ];
    let whole = whole
        .into_iter()
        .filter(|(_, _, strips)| !strips.is_empty())
        .map(|(id, title, strips)| {
            let height = strips.iter().map(|strip| strip.height).sum();
            drawing(id.to_owned(), title.to_owned(), drawn(title, &strips, height))
        });
    let pressures = pressure::pictures(&facts, None, date).into_iter().map(|picture| {
        let title = format!("Pressure along {}", picture.name);
        drawing(format!("pressure {}", picture.file), title, picture.svg)
    });
    whole.chain(pressures).collect()
}

fn drawing(id: String, title: String, svg: Markup) -> Drawing {
    Drawing {
        id,
        title,
        svg: drysheath_text::safe::xml(&svg.into_string()).into_owned(),
    }
}

/// The pressure along a cable or air pipe, or along a branch, as an SVG document of its own, with its size in CSS
/// pixels; `None` if no pressure is computed for it.
pub fn profile(view: OfficeView<'_>, thing: ThingId, branch: Option<&str>, date: Date) -> Option<String> {
    // Checked first: most things are not lines, and the facts need the whole office.
    let mut lines = view.prediction.air.lines().iter();
    let line = lines.find(|line| line.thing == thing && line.branch_name(view.office) == branch)?;
    let facts = Facts::new(view, Marks::default());
    let picture = pressure::picture(&facts, line, date)?;
    Some(pressure::standalone(&picture.name, picture.height, &picture.svg))
}
