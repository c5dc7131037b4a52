//! Adds a field to a thing.

use drysheath_syntax::{Statement, StatementKind};
use drysheath_text::{Edit, TextRange};
use drysheath_workspace::Analysis;

use crate::line_edits::below;

/// The edit that adds a field to the thing that a statement declares, next to its other fields.
pub(crate) fn new_field(analysis: &Analysis, statement: &Statement, word: &str, value: &str) -> Option<Edit> {
    // If a field has a line of its own, its value is aligned to a column.
    const COLUMN: usize = 15;
    let StatementKind::Thing(thing) = &statement.kind else {
        return None;
    };
    let (text, tree) = (&*analysis.text, &analysis.tree);
    let put = |at: u32, replacement: String| Edit {
        range: TextRange::empty(at),
        replacement,
    };
    let Some(block) = &thing.block else {
        return Some(put(statement.range.end, format!(" {{ {word} {value} }}")));
    };
    let open = tree.range(block.open);
    let Some(last) = block.fields.last().map(|field| tree.field_range(field)) else {
        return Some(put(open.end, format!(" {word} {value} ")));
    };
    let between = text.get(open.end as usize..last.start as usize)?;
    Some(match between.rfind('\n') {
        Some(_) => {
            let line = text.get(..last.start as usize)?.rsplit('\n').next()?;
            let indent: String = line.chars().take_while(|one| one.is_whitespace()).collect();
            below(text, last.end, &format!("{indent}{word:<COLUMN$} {value}"))
        }
        None => put(last.end, format!(", {word} {value}")),
    })
}
