//! Records of an office's inputs, for the person who enters them at the monitoring centre: the entries, those new,
//! changed or withdrawn since an earlier revision, and what is missing before the hand-over.

use crate::document;

mod columns;
mod compose;
mod csv;
mod difference;
mod markdown;
mod missing;
mod note;
mod record;
mod revision;
mod writer;

pub use csv::{CsvRow, CsvRows};
pub use difference::{Counts, Difference};
pub use record::{Changed, FieldChange, InputRecord, MissingItem, OfficeRecords, RECORDS_FORM, RecordsReport};
pub use revision::{EarlierRecord, Now, OfficeNow, records_before};
pub use writer::{RecordsFormat, RecordsWriter};

/// The JSON Schema of [`RecordsReport`].
pub fn records_schema() -> String {
    document::schema::<RecordsReport>()
}
