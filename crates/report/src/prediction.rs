//! The prediction of an office, as a record for programs and as tables.

mod compose;
mod detection;
mod electric;
mod fit;
mod hold_up;
mod how;
mod name_lookup;
mod record;
mod resolution;
mod sizing;
mod states;
mod tables;

use crate::document::{self, Listing};

pub use compose::OfficeView;
pub use how::{Explanation, how};
pub use record::{FORM, FitRecord, LeftOutRecord, OfficeRecord, Report, SizingRecord, line_as_asked};
pub use tables::tables;

impl Report {
    /// The predictions as a JSON document.
    pub fn json(&self) -> String {
        document::json(self)
    }

    /// An empty document for any number of offices: each is an [`OfficeRecord::item`] of its list.
    pub fn listing() -> Listing {
        let empty = Self {
            form: FORM,
            offices: Vec::new(),
        };
        Listing::filling(&empty, "offices")
    }
}

impl OfficeRecord {
    /// The record as an item of [`Report::listing`].
    pub fn item(&self) -> String {
        Listing::item(self)
    }
}

/// The JSON Schema of [`Report`].
pub fn report_schema() -> String {
    document::schema::<Report>()
}
