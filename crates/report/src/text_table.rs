//! Tables for a terminal.

use std::fmt::Write;

pub(crate) use comfy_table::CellAlignment;
use comfy_table::{ContentArrangement, Table, presets};

/// Adds a table with a heading; nothing without rows.
pub(crate) fn text_table(out: &mut String, heading: &str, columns: &[(&str, CellAlignment)], rows: &[Vec<String>]) {
    if rows.is_empty() {
        return;
    }
    let mut table = Table::new();
    table
        .load_preset(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Disabled)
        .set_header(columns.iter().map(|(name, _)| *name));
    table.add_rows(rows);
    for (column, (_, alignment)) in table.column_iter_mut().zip(columns) {
        column.set_cell_alignment(*alignment);
    }
    let _ = writeln!(out, "\n{heading}");
    for line in table.lines() {
        let _ = writeln!(out, " {}", line.trim_end());
    }
}
