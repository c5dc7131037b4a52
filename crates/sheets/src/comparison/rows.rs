//! Tables, the kinds that their rows are filtered by, and how many of them a page has.

use drysheath_report::{ChangeRecord, Extent, Of, several};
use maud::{Markup, html};

/// A page with more of them is read by nobody, and takes a browser seconds.
const MOST_ROWS: usize = 4_000;
/// So many pictures are looked through.
const MOST_PICTURES: usize = 60;
/// No cell of a bounded page is longer, in characters.
const LONGEST: usize = 800;

/// How much room a page has left, and what had none.
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

    /// How many of `wanted` rows have room; the others are counted.
    pub fn rows(&mut self, wanted: usize) -> usize {
        self.rows_with_first(wanted, 0)
    }

    /// How many of `wanted` rows have room, of which the `first` are shown even where none is left; the others are counted.
    pub fn rows_with_first(&mut self, wanted: usize, first: usize) -> usize {
        if self.is_full {
            return wanted;
        }
        let granted = wanted.min(self.rows.max(first));
        self.rows = self.rows.saturating_sub(granted);
        self.rows_left_out += wanted - granted;
        granted
    }

    /// Whether there is room for a heading. It takes as much as a row, and is none.
    pub fn heading(&mut self) -> bool {
        let has_room = self.is_full || self.rows > 0;
        self.rows = self.rows.saturating_sub(1);
        has_room
    }

    /// How many of `wanted` pictures have room; the others are counted.
    pub fn pictures(&mut self, wanted: usize) -> usize {
        if self.is_full {
            return wanted;
        }
        let granted = wanted.min(self.pictures);
        self.pictures -= granted;
        self.pictures_left_out += wanted - granted;
        granted
    }

    /// Counts what is not shown, since its heading had no room.
    pub fn leave_out(&mut self, rows: usize, pictures: usize) {
        self.rows_left_out += rows;
        self.pictures_left_out += pictures;
    }

    /// A text as it stands in a cell.
    pub fn cell(&self, text: &str) -> String {
        match text.char_indices().nth(LONGEST).filter(|_| !self.is_full) {
            Some((end, _)) => format!("{} …", text.get(..end).unwrap_or_default()),
            None => text.to_owned(),
        }
    }

    /// What had no room, in words.
    pub fn left_out(&self) -> Option<String> {
        let counts = [(self.rows_left_out, "row"), (self.pictures_left_out, "picture")];
        let counts = counts.into_iter().filter(|(number, _)| *number > 0);
        let told: Vec<String> = counts.map(|(number, noun)| several(number, noun)).collect();
        let are = is_or_are(self.rows_left_out + self.pictures_left_out);
        (!told.is_empty()).then(|| format!("Cut to what can be read: {} {are} not on this page", told.join(" and ")))
    }
}

/// Says that so many of `noun`, such as "more row", are not in a part of the page; nothing where none is left out. `of` says of what they
/// are, such as " of this office".
pub fn missing(number: usize, noun: &str, of: &str) -> Markup {
    html! { @if number > 0 { p.cut { (several(number, noun)) (of) " " (is_or_are(number)) " not on this page." } } }
}

fn is_or_are(number: usize) -> &'static str {
    if number == 1 { "is" } else { "are" }
}

/// The kinds of rows, each with what the filter calls it.
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

/// The kind that a change is filtered by. What joins the ends of a run belongs to the run.
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

/// A table of rows that are written already. Its class says how wide its columns are.
pub fn table(class: &str, about: &str, columns: &[&str], rows: Vec<Markup>) -> Markup {
    html! {
        table class=(class) aria-label=(about) {
            thead { tr { @for column in columns { th scope="col" { (column) } } } }
            tbody { @for row in rows { (row) } }
        }
    }
}
