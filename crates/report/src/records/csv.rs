//! The records as comma-separated values by RFC 4180.

use std::collections::BTreeSet;

use csv::{Terminator, WriterBuilder};
use drysheath_text::safe::csv_cell;

use super::columns::{COLUMNS, recorded, recorded_cell, recorded_column};
use super::difference::{Difference, Standing};
use super::record::{InputRecord, RecordsReport};

/// The records as CSV, one line for each. Compared with an earlier revision there are two more columns in front: `state` is
/// new, changed, unchanged or withdrawn, and `changes` says what changed.
pub fn records_csv(report: &RecordsReport, difference: Option<&Difference>) -> String {
    let mut writer = WriterBuilder::new()
        .terminator(Terminator::CRLF)
        .from_writer(Vec::new());
    let withdrawn = difference.map_or(&[][..], Difference::withdrawn);
    let records = || report.offices.iter().flat_map(|office| &office.records);
    let facts = recorded(records().chain(withdrawn));
    let names = COLUMNS.iter().map(|column| column.name.to_owned());
    let names = names.chain(facts.iter().map(|name| recorded_column(name)));
    let front: &[&str] = if difference.is_some() {
        &["state", "changes"]
    } else {
        &[]
    };
    // Writing to memory does not fail.
    let _ = writer.write_record(front.iter().map(|name| (*name).to_owned()).chain(names));
    for record in records() {
        let standing = difference.map(|difference| difference.standing(&record.key));
        let _ = writer.write_record(cells(record, standing, &facts));
    }
    for record in withdrawn {
        let _ = writer.write_record(cells(record, Some(Standing::Withdrawn), &facts));
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

fn cells(record: &InputRecord, standing: Option<Standing<'_>>, facts: &BTreeSet<&str>) -> Vec<String> {
    let mut cells = Vec::new();
    if let Some(standing) = standing {
        let changes = match standing {
            Standing::Changed(changed) => {
                let fields = changed.fields.iter();
                let listed: Vec<String> = fields
                    .map(|change| format!("{}: {} -> {}", change.field, or_none(&change.old), or_none(&change.new)))
                    .collect();
                listed.join("; ")
            }
            _ => String::new(),
        };
        cells.extend([standing.word().to_owned(), changes]);
    }
    cells.extend(COLUMNS.iter().map(|column| (column.cell)(record)));
    cells.extend(facts.iter().map(|name| recorded_cell(record, name)));
    cells.iter().map(|cell| csv_cell(cell).into_owned()).collect()
}

/// The value of a field, or a word for none.
pub(super) fn or_none(cell: &str) -> &str {
    if cell.is_empty() { "none" } else { cell }
}
