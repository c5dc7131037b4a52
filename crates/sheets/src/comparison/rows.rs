//! Tables, the kinds their rows are filtered by, and the row budget of a page.

use drysheath_report::{ChangeRecord, Extent, Of, several};
use maud::{Markup, html};

/// Maximum number of rows: browsers take seconds to lay out more, and nobody reads them.
const MOST_ROWS: usize = 4_000;
/// Maximum number of pictures.
const MOST_PICTURES: usize = 60;
/// Maximum length of a cell in the brief page, in characters.
const LONGEST: usize = 800;

/// Remaining room on a page, and counts of what was left out.
pub struct Budget {
    is_full: bool,
    rows: usize,
    pictures: usize,
    rows_left_out: usize,
    pictures_left_out: usize,
}

impl Budget {
    pub fn new(extent: Extent) -> Self {
        Self {
            is_full: extent == Extent::Full,
            rows: MOST_ROWS,
            pictures: MOST_PICTURES,
            rows_left_out: 0,
            pictures_left_out: 0,
        }
    }

    /// Reserves room for `wanted` rows and returns how many fit; the others are counted as left out.
    pub fn rows(&mut self, wanted: usize) -> usize {
        self.rows_with_first(wanted, 0)
    }

    /// Like `rows`, but the `first` rows are shown even if there is no room.
    pub fn rows_with_first(&mut self, wanted: usize, first: usize) -> usize {
        if self.is_full {
            return wanted;
        }
        let granted = wanted.min(self.rows.max(first));
        self.rows = self.rows.saturating_sub(granted);
        self.rows_left_out += wanted - granted;
        granted
    }

    /// Reserves room for a heading and returns whether there is any. A heading takes the room of a row but is not
    /// counted as one.
    pub fn heading(&mut self) -> bool {
        let has_room = self.is_full || self.rows > 0;
        self.rows = self.rows.saturating_sub(1);
        has_room
    }

    /// Reserves room for `wanted` pictures and returns how many fit; the others are counted as left out.
    pub fn pictures(&mut self, wanted: usize) -> usize {
        if self.is_full {
            return wanted;
        }
        let granted = wanted.min(self.pictures);
        self.pictures -= granted;
        self.pictures_left_out += wanted - granted;
        granted
    }

    /// Counts rows and pictures as left out because their heading had no room.
    pub fn leave_out(&mut self, rows: usize, pictures: usize) {
        self.rows_left_out += rows;
        self.pictures_left_out += pictures;
    }

    /// Text of a cell, cut if it is too long for a brief page.
    pub fn cell(&self, text: &str) -> String {
        match text.char_indices().nth(LONGEST).filter(|_| !self.is_full) {
            Some((end, _)) => format!("{} …", text.get(..end).unwrap_or_default()),
            None => text.to_owned(),
        }
    }

    /// Message that says how much was left out. `None` if nothing was.
    pub fn left_out(&self) -> Option<String> {
        let counts = [(self.rows_left_out, "row"), (self.pictures_left_out, "picture")];
        let counts = counts.into_iter().filter(|(number, _)| *number > 0);
        let told: Vec<String> = counts.map(|(number, noun)| several(number, noun)).collect();
        let are = is_or_are(self.rows_left_out + self.pictures_left_out);
        (!told.is_empty()).then(|| format!("Cut to what can be read: {} {are} not on this page", told.join(" and ")))
    }
}

/// Message that `number` of `noun` (for example "more row") are not on the page; empty if `number` is 0. `of` is text
/// such as " of this office".
pub fn missing(number: usize, noun: &str, of: &str) -> Markup {
    html! { @if number > 0 { p.cut { (several(number, noun)) (of) " " (is_or_are(number)) " not on this page." } } }
}

fn is_or_are(number: usize) -> &'static str {
    if number == 1 { "is" } else { "are" }
}

/// Kinds of rows, each with its label in the filter.
pub fn kinds() -> [(&'static str, &'static str); 10] {
    [
        ("not-compared", "files that are not compared"),
        ("results", "results"),
        ("equipment", "equipment and its fields"),
        ("pairs", "wires and pairs"),
        ("air", "air runs"),
        ("power", "power runs"),
        ("ground", "ground runs"),
        ("figures", "predictions"),
        ("statements", "readings, acceptances, expectations"),
        ("shared", "parts and settings"),
    ]
}

/// Kind that a change is filtered by. Changes of joints between run ends belong to the run.
pub fn kind(change: &ChangeRecord) -> &'static str {
    let first = change.subject.split(' ').next().unwrap_or_default();
    match change.of {
        Of::Field if first == "wire" => "pairs",
        Of::Field if first == "air" => "air",
        Of::Field if first == "power" => "power",
        Of::Field if first == "ground" => "ground",
        Of::Thing | Of::Field => "equipment",
        Of::Wire | Of::Spare | Of::PairState => "pairs",
        Of::Air => "air",
        Of::Power => "power",
        Of::Ground => "ground",
        Of::Acceptance | Of::Reading | Of::When => "statements",
        Of::Part | Of::Use => "shared",
    }
}

/// A table from rows already rendered. Its class selects the column widths.
pub fn table(class: &str, about: &str, columns: &[&str], rows: Vec<Markup>) -> Markup {
    html! {
        table class=(class) aria-label=(about) {
            thead { tr { @for column in columns { th scope="col" { (column) } } } }
            tbody { @for row in rows { (row) } }
        }
    }
}
