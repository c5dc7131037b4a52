//! Records written office by office, so that those of a county need not all be in memory.

use super::difference::Difference;
use super::record::{OfficeRecords, RECORDS_FORM, RecordsReport};
use super::{markdown, note};
use crate::document::Listing;

/// Output format of records. CSV is written by [`CsvRows`](super::CsvRows), since its columns are known only at the
/// end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RecordsFormat {
    /// Tables in Markdown, to be read or printed.
    Markdown,
    /// A JSON document, by `grammar/records.schema.json`.
    Json,
    /// The message that the unit is installed.
    Note,
}

/// Records in one format: [`start`](Self::start), then the text for each office, then [`end`](Self::end).
pub struct RecordsWriter<'d> {
    wording: RecordsFormat,
    revision: Option<String>,
    difference: Option<&'d Difference>,
    all: bool,
    listing: Listing,
}

impl<'d> RecordsWriter<'d> {
    /// Records in a format. With a difference since a revision, Markdown lists only new and changed records, unless
    /// `all` is set.
    pub fn new(wording: RecordsFormat, since: Option<(&str, &'d Difference)>, all: bool) -> Self {
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

    /// The text before all offices.
    pub fn start(&self) -> String {
        match (self.wording, &self.revision, self.difference) {
            (RecordsFormat::Markdown, Some(revision), Some(difference)) => {
                markdown::changes(revision, difference, self.all)
            }
            (RecordsFormat::Json, ..) => self.listing.start().to_owned(),
            _ => String::new(),
        }
    }

    /// The text for an office; may be called on any thread.
    pub fn of(&self, office: &OfficeRecords) -> String {
        match self.wording {
            RecordsFormat::Markdown => markdown::office(office, self.difference, self.all),
            RecordsFormat::Json => Listing::item(office),
            RecordsFormat::Note => note::office(office, self.difference),
        }
    }

    /// The separator before an office; `offices` is the number of offices before it.
    pub fn before(&self, offices: usize) -> &'static str {
        match self.wording {
            RecordsFormat::Json => self.listing.before_item(offices),
            RecordsFormat::Note if offices > 0 => "\n",
            RecordsFormat::Note | RecordsFormat::Markdown => "",
        }
    }

    /// The text after all offices; `offices` is their number. `is_any_ready` tells whether one of them has no missing
    /// items.
    pub fn end(&self, offices: usize, is_any_ready: bool) -> String {
        match self.wording {
            RecordsFormat::Markdown => markdown::end(),
            RecordsFormat::Json => self.listing.end(offices),
            RecordsFormat::Note => note::end(self.revision.as_deref().zip(self.difference), is_any_ready),
        }
    }
}
