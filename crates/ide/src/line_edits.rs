//! Edits that insert or remove whole lines.

use drysheath_text::{Edit, TextRange};

/// The line ending that a text uses.
pub(crate) fn line_end(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

/// Lines with the line ending of a text.
fn with_ends_of(text: &str, lines: &str) -> String {
    lines.trim_end().replace('\n', line_end(text))
}

/// The end of the line that contains the offset `at`.
pub(crate) fn end_of_line(text: &str, at: u32) -> u32 {
    let rest = text.get(at as usize..).unwrap_or_default();
    let line = rest.split('\n').next().unwrap_or_default();
    at + line.strip_suffix('\r').unwrap_or(line).len() as u32
}

/// Inserts lines below the line that contains the offset `after`.
pub(crate) fn below(text: &str, after: u32, lines: &str) -> Edit {
    let replacement = format!("{}{}", line_end(text), with_ends_of(text, lines));
    Edit {
        range: TextRange::empty(end_of_line(text, after)),
        replacement,
    }
}

/// Inserts lines above the line that contains the offset `before`.
pub(crate) fn above(text: &str, before: u32, lines: &str) -> Edit {
    let start = text.get(..before as usize).unwrap_or_default().rfind('\n');
    let at = start.map_or(0, |start| start as u32 + 1);
    Edit {
        range: TextRange::empty(at),
        replacement: format!("{}{}", with_ends_of(text, lines), line_end(text)),
    }
}

/// Appends lines to a text. They are inserted before the last line ending: some clients have no position after that.
pub(crate) fn at_end(text: &str, lines: &str) -> Edit {
    let end = line_end(text);
    let lines = with_ends_of(text, lines);
    let kept = text
        .strip_suffix('\n')
        .map_or(text, |rest| rest.strip_suffix('\r').unwrap_or(rest));
    let replacement = match (text.is_empty(), kept.len() == text.len()) {
        (true, _) => format!("{lines}{end}"),
        (false, true) => format!("{end}{lines}{end}"),
        (false, false) => format!("{end}{lines}"),
    };
    Edit {
        range: TextRange::empty(kept.len() as u32),
        replacement,
    }
}

/// The whole line of a range with its line ending if it contains nothing else, or else the range.
pub(crate) fn whole_line(text: &str, range: TextRange) -> TextRange {
    let (before, after) = (text.get(..range.start as usize), text.get(range.end as usize..));
    let (Some(before), Some(after)) = (before, after) else {
        return range;
    };
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    let line = after.find('\n').map_or(after.len(), |at| at + 1);
    let around = [before.get(start..), after.get(..line)];
    if around.iter().flatten().all(|part| part.trim().is_empty()) {
        TextRange::new(start as u32, range.end + line as u32)
    } else {
        range
    }
}
