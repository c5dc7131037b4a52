//! Formatting as edits of white space: of a whole file, of some lines, and of a statement just completed.

use drysheath_syntax::{Statement, TokenKind, format};
use drysheath_text::{Edit, Encoding, TextRange};
use drysheath_workspace::Analysis;

/// The edits that format a whole file. Statements that cannot be parsed stay as they are.
pub fn lay_out(analysis: &Analysis) -> Vec<Edit> {
    format(&analysis.text, &analysis.tree)
}

/// The edits that format the lines of a range, and the rest of each statement on them.
pub fn lay_out_range(analysis: &Analysis, range: TextRange) -> Vec<Edit> {
    let statements = analysis.tree.statements.iter();
    let touched = statements.filter(|statement| {
        let whole = statement.range;
        whole.start <= range.end && range.start <= whole.end
    });
    let range = touched.fold(range, |range, statement| range.cover(statement.range));
    within(analysis, whole_lines(analysis, range))
}

/// The edits after typing a character that ends at `offset`: those of the statement that it completes. The line of the
/// caret is left unchanged unless it is the statement's last.
pub fn lay_out_typed(analysis: &Analysis, offset: u32, typed: &str) -> Vec<Edit> {
    match typed {
        "}" => closed(analysis, offset).map_or_else(Vec::new, |statement| {
            within(analysis, whole_lines(analysis, statement.range))
        }),
        "\n" => after_line_end(analysis, offset),
        _ => Vec::new(),
    }
}

/// The statement whose closing brace ends at an offset.
fn closed(analysis: &Analysis, offset: u32) -> Option<&Statement> {
    let statements = &analysis.tree.statements;
    let at = statements.partition_point(|statement| statement.range.end < offset);
    let statement = statements.get(at).filter(|statement| statement.range.end == offset)?;
    let last = analysis.tree.items(statement.items).last()?;
    (last.kind == TokenKind::CloseBrace && last.range.end == offset).then_some(statement)
}

/// Formats the statement that ends on the line above the caret or continues there, up to that line.
fn after_line_end(analysis: &Analysis, offset: u32) -> Vec<Edit> {
    let text = &analysis.text;
    let line = analysis.lines.position(text, offset, Encoding::Utf8).line;
    let Some(above) = line.checked_sub(1) else {
        return Vec::new();
    };
    let above = analysis.lines.line(text, above);
    let statements = &analysis.tree.statements;
    let after = statements.partition_point(|statement| statement.range.start <= above.end);
    let before = statements.get(..after).unwrap_or_default();
    let mut start = above.start;
    for statement in before.iter().rev() {
        if statement.range.end < above.start {
            break;
        }
        start = start.min(statement.range.start);
    }
    let start = analysis.lines.position(text, start, Encoding::Utf8).line;
    let start = analysis.lines.line(text, start).start;
    // Without the typed line end.
    within(analysis, TextRange::new(start, above.end))
}

/// Extends a range to whole lines.
fn whole_lines(analysis: &Analysis, range: TextRange) -> TextRange {
    let (text, lines) = (&analysis.text, &analysis.lines);
    let first = lines.position(text, range.start, Encoding::Utf8).line;
    let last = lines.position(text, range.end, Encoding::Utf8);
    // A range that ends before the first character of a line does not include that line.
    let over = last.column == 0 && last.line > first;
    let last = last.line - u32::from(over);
    let end = lines.line(text, last + 1).start;
    TextRange::new(lines.line(text, first).start, end)
}

fn within(analysis: &Analysis, lines: TextRange) -> Vec<Edit> {
    let mut edits = lay_out(analysis);
    edits.retain(|edit| lines.contains(edit.range));
    edits
}
