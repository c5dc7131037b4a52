//! Records that are written office by office: those of a county need not be in memory together.

use super::difference::Difference;
use super::record::{OfficeRecords, RECORDS_FORM, RecordsReport};
use super::{markdown, note};
use crate::document::Listing;

/// How records are worded. As comma-separated values they are written by [`CsvRows`](super::CsvRows), since their columns are
/// known only in the end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wording {
    /// Tables in Markdown.
    Markdown,
    /// A JSON document.
    Json,
    /// The message that the unit is in place.
    Note,
}

/// Records in one wording: [`start`](Self::start), then for each office what it adds, then [`end`](Self::end).
pub struct RecordsPieces<'d> {
    wording: Wording,
    revision: Option<String>,
    difference: Option<&'d Difference>,
    all: bool,
    listing: Listing,
}

impl<'d> RecordsPieces<'d> {
    /// Records in a wording. With what differs since a revision, only the records that are new or changed are listed in Markdown,
    /// unless it is to be `all`.
    pub fn new(wording: Wording, since: Option<(&str, &'d Difference)>, all: bool) -> Self {
        let empty = RecordsReport {
            form: RECORDS_FORM,
            since: since.map(|(revision, difference)| difference.record(revision)),
            offices: Vec::new(),
        };
        Self {
            wording,
            revision: since.map(|(revision, _)| revision.to_owned()),
            difference: since.map(|(_, difference)| difference),
            all,
            listing: Listing::filling(&empty, "offices"),
        }
    }

    /// What comes before all offices.
    pub fn start(&self) -> String {
        match (self.wording, &self.revision, self.difference) {
            (Wording::Markdown, Some(revision), Some(difference)) => markdown::changes(revision, difference, self.all),
            (Wording::Json, ..) => self.listing.start().to_owned(),
            _ => String::new(),
        }
    }

    /// What is written of an office, on any thread.
    pub fn of(&self, office: &OfficeRecords) -> String {
        match self.wording {
            Wording::Markdown => markdown::office(office, self.difference, self.all),
            Wording::Json => Listing::item(office),
            Wording::Note => note::office(office, self.difference),
        }
    }

    /// What comes before that, by the number of offices before it.
    pub fn before(&self, offices: usize) -> &'static str {
        match self.wording {
            Wording::Json => self.listing.before_item(offices),
            Wording::Note if offices > 0 => "\n",
            Wording::Note | Wording::Markdown => "",
        }
    }

    /// What comes after all offices, by their number. `is_any_ready` says whether nothing is missing in one of them.
    pub fn end(&self, offices: usize, is_any_ready: bool) -> String {
        match self.wording {
            Wording::Markdown => markdown::end(),
            Wording::Json => self.listing.end(offices),
            Wording::Note => note::end(self.revision.as_deref().zip(self.difference), is_any_ready),
        }
    }
}
