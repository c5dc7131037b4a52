use std::ops::Range;

use ariadne::Source;
use drysheath_text::safe::excerpt;
use drysheath_text::{Encoding, LineIndex, TextRange};

/// How far from a mark the ends of its line may be, in bytes: the lines of offices are shorter.
const REACH: usize = 400;
/// How much of a longer line is shown on either side of a mark, in bytes.
const AROUND: usize = 100;

/// What is drawn of a file: the lines with a mark and those next to them. All other lines are empty, so that the numbers of
/// lines stay true, and what is too far from a mark on a long line is left out.
pub(super) struct Excerpt {
    /// The text that is drawn, safe for a terminal.
    pub source: Source<String>,
    pieces: Vec<Piece>,
    /// Whether a line lacks its beginning or its end.
    is_cut: bool,
}

/// Bytes of the file that are drawn, and the byte of the drawn text that they start at.
struct Piece {
    from: Range<usize>,
    at: usize,
}

impl Excerpt {
    /// What is drawn of `text` where these ranges are marked.
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
            pieces.push(Piece { from, at });
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

    /// The byte of the drawn text that a byte of the file is drawn at, or the nearest that is drawn.
    pub fn drawn_at(&self, at: u32) -> usize {
        let at = at as usize;
        let after = self.pieces.partition_point(|piece| piece.from.start <= at);
        let piece = after.checked_sub(1).and_then(|piece| self.pieces.get(piece));
        piece.map_or(0, |piece| piece.at + at.min(piece.from.end) - piece.from.start)
    }

    /// Line and column of a byte of `text`, both from 1, where the drawn text does not tell them.
    pub fn position(&self, text: &str, at: u32) -> Option<String> {
        self.is_cut.then(|| {
            let position = LineIndex::new(text).position(text, at, Encoding::Utf32);
            format!("{}:{}", position.line + 1, position.column + 1)
        })
    }
}

/// The line that a byte lies in, with the lines before and after it, as far as they are within reach.
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
