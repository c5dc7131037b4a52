//! The records as comma-separated values (RFC 4180).

use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, BufWriter, Read, Seek, SeekFrom, Write};

use csv::{Terminator, WriterBuilder};
use drysheath_text::safe::csv_cell;
use serde::{Deserialize, Serialize};

use super::columns::{COLUMNS, recorded_column};
use super::difference::{Difference, RecordStatus};
use super::record::{InputRecord, OfficeRecords};

/// A record as a line of CSV.
#[derive(Debug, Deserialize, Serialize)]
pub struct CsvRow {
    cells: Vec<String>,
    /// The repository's own facts. Their columns are known only once all records are.
    facts: BTreeMap<String, String>,
}

impl CsvRow {
    /// The rows of an office.
    pub fn of(office: &OfficeRecords, difference: Option<&Difference>) -> Vec<Self> {
        let status = |record: &InputRecord| difference.map(|difference| difference.status(&record.key));
        let records = office.records.iter();
        records.map(|record| Self::new(record, status(record))).collect()
    }

    fn new(record: &InputRecord, status: Option<RecordStatus<'_>>) -> Self {
        let mut cells = Vec::new();
        if let Some(status) = status {
            let changes = match status {
                RecordStatus::Changed(changed) => {
                    let fields = changed.fields.iter();
                    let listed: Vec<String> = fields
                        .map(|change| {
                            let (old, new) = (or_none(&change.old), or_none(&change.new));
                            format!("{}: {old} -> {new}", change.field)
                        })
                        .collect();
                    listed.join("; ")
                }
                _ => String::new(),
            };
            cells.extend([status.word().to_owned(), changes]);
        }
        cells.extend(COLUMNS.iter().map(|column| (column.cell)(record)));
        Self {
            cells,
            facts: record.recorded.clone(),
        }
    }
}

/// The rows of a CSV document, one for each record, kept in a `store` until the columns are known, so that the records
/// of a county need not all be in memory. In a comparison with an earlier revision there are two more columns in front:
/// `state` is new, changed, unchanged or withdrawn, and `changes` lists the changes.
pub struct CsvRows<'d, S: Read + Seek + Write> {
    store: BufWriter<S>,
    facts: BTreeSet<String>,
    difference: Option<&'d Difference>,
}

impl<'d, S: Read + Seek + Write> CsvRows<'d, S> {
    /// Starts without rows, with an empty store.
    pub fn new(store: S, difference: Option<&'d Difference>) -> Self {
        Self {
            store: BufWriter::new(store),
            facts: BTreeSet::new(),
            difference,
        }
    }

    /// Adds the rows of an office.
    ///
    /// # Errors
    ///
    /// If the store cannot be written.
    pub fn put(&mut self, rows: &[CsvRow]) -> io::Result<()> {
        for row in rows {
            for name in row.facts.keys() {
                if !self.facts.contains(name) {
                    self.facts.insert(name.clone());
                }
            }
            serde_json::to_writer(&mut self.store, row)?;
        }
        Ok(())
    }

    /// Writes the document.
    ///
    /// # Errors
    ///
    /// If the store cannot be read, or `out` not written.
    pub fn finish(mut self, out: impl Write) -> io::Result<()> {
        let withdrawn = self.difference.map_or(&[][..], Difference::withdrawn);
        for record in withdrawn {
            self.facts.extend(record.recorded.keys().cloned());
        }
        let mut store = self.store.into_inner().map_err(io::IntoInnerError::into_error)?;
        store.seek(SeekFrom::Start(0))?;
        let mut writer = WriterBuilder::new().terminator(Terminator::CRLF).from_writer(out);
        let front: &[&str] = if self.difference.is_some() {
            &["state", "changes"]
        } else {
            &[]
        };
        let names = COLUMNS.iter().map(|column| column.name.to_owned());
        let names = names.chain(self.facts.iter().map(|name| recorded_column(name)));
        writer.write_record(front.iter().map(|name| (*name).to_owned()).chain(names))?;
        let facts = &self.facts;
        let mut line = |row: &CsvRow| {
            let facts = facts.iter().map(|name| row.facts.get(name).map_or("", String::as_str));
            let cells = row.cells.iter().map(String::as_str).chain(facts);
            writer.write_record(cells.map(|cell| csv_cell(cell).into_owned()))
        };
        for row in serde_json::Deserializer::from_reader(io::BufReader::new(store)).into_iter() {
            line(&row?)?;
        }
        for record in withdrawn {
            line(&CsvRow::new(record, Some(RecordStatus::Withdrawn)))?;
        }
        writer.flush()
    }
}

/// The value of a field, or "none" if it is empty.
pub(super) fn or_none(cell: &str) -> &str {
    if cell.is_empty() { "none" } else { cell }
}
