use std::ops::Range;

use ariadne::Source;
use drysheath_text::safe::excerpt;
use drysheath_text::{Encoding, LineIndex, TextRange};

/// Distance in bytes up to which the ends of a marked line are shown: lines of offices are shorter.
const REACH: usize = 400;
/// Bytes shown on either side of a mark on a longer line.
const AROUND: usize = 100;

/// An excerpt of a file: the marked lines and their neighbours. All other lines are empty, so that line numbers stay
/// correct, and distant parts of long lines are left out.
pub(super) struct Excerpt {
    /// The text to draw, safe for a terminal.
    pub source: Source<String>,
    pieces: Vec<ExcerptPart>,
    /// Whether the beginning or end of a line was cut off.
    is_cut: bool,
}

/// A byte range of the file that is drawn, and its start in the drawn text.
struct ExcerptPart {
    from: Range<usize>,
    at: usize,
}

impl Excerpt {
    /// The excerpt of `text` for some marked ranges.
    pub fn of(text: &str, marks: impl Iterator<Item = TextRange>) -> Self {
        let mut kept: Vec<_> = marks
            .flat_map(|mark| [mark.start, mark.end])
            .map(|at| around(text, at as usize))
            .collect();
        kept.sort_unstable_by_key(|range| range.start);
        kept.dedup_by(|next, last| {
            let joins = next.start <= last.end;
            last.end = if joins { last.end.max(next.end) } else { last.end };
            joins
        });
        let starts_line = |at: usize| at == 0 || text.as_bytes().get(at - 1) == Some(&b'\n');
        let mut drawn = String::new();
        let mut pieces = Vec::with_capacity(kept.len());
        let mut is_cut = false;
        let mut end = 0;
        for from in kept {
            let between = text.get(end..from.start).unwrap_or_default();
            let mut cut = |is_inside: bool| {
                is_cut |= is_inside;
                if is_inside { "…" } else { "" }
            };
            let lines = between.bytes().filter(|byte| *byte == b'\n').count();
            drawn.push_str(cut(!starts_line(end)));
            drawn.extend(std::iter::repeat_n('\n', lines));
            if lines > 0 || end == 0 {
                drawn.push_str(cut(!starts_line(from.start)));
            }
            end = from.end;
            let at = drawn.len();
            drawn.push_str(text.get(from.clone()).unwrap_or_default());
            pieces.push(ExcerptPart { from, at });
        }
        if end < text.len() && !starts_line(end) {
            drawn.push('…');
            is_cut = true;
        }
        Self {
            source: Source::from(excerpt(&drawn)),
            pieces,
            is_cut,
        }
    }

    /// The position in the drawn text of a byte of the file, or of the nearest byte that is drawn.
    pub fn drawn_at(&self, at: u32) -> usize {
        let at = at as usize;
        let after = self.pieces.partition_point(|piece| piece.from.start <= at);
        let piece = after.checked_sub(1).and_then(|piece| self.pieces.get(piece));
        piece.map_or(0, |piece| piece.at + at.min(piece.from.end) - piece.from.start)
    }

    /// Line and column of a byte of `text`, both from 1. `None` where the drawn text gives them correctly.
    pub fn position(&self, text: &str, at: u32) -> Option<String> {
        self.is_cut.then(|| {
            let position = LineIndex::new(text).position(text, at, Encoding::Utf32);
            format!("{}:{}", position.line + 1, position.column + 1)
        })
    }
}

/// The line at a byte with the lines before and after it, within reach.
fn around(text: &str, at: usize) -> Range<usize> {
    let at = text.floor_char_boundary(at);
    let first = text.floor_char_boundary(at.saturating_sub(REACH));
    let last = text.ceil_char_boundary(at.saturating_add(REACH));
    let before = text.get(first..at).unwrap_or_default();
    let behind = text.get(at..last).unwrap_or_default();
    let mut line_starts = before.rmatch_indices('\n').map(|(line_end, _)| first + line_end + 1);
    let start = match (line_starts.next(), line_starts.next()) {
        (None, _) if first > 0 => text.floor_char_boundary(at - AROUND),
        (_, Some(line_before)) => line_before,
        _ => first,
    };
    let mut line_ends = behind.match_indices('\n').map(|(line_end, _)| at + line_end + 1);
    let end = match (line_ends.next(), line_ends.next()) {
        (None, _) if last < text.len() => text.ceil_char_boundary(at + AROUND),
        (_, Some(line_after)) => line_after,
        _ => last,
    };
    start..end
}
