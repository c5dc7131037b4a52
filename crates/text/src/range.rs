use std::ops::Range;

/// A source file, by its index in the list of its owner: a run of the command, or the workspace of an editor. Indices
/// into different lists must not be compared.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FileId(pub u32);

/// A half-open range of bytes in one file's text, as offsets from its beginning. Offsets are `u32` since the lexer
/// refuses texts above 64 MiB.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct TextRange {
    /// Offset of the first byte.
    pub start: u32,
    /// Offset after the last byte; never less than `start`.
    pub end: u32,
}

impl TextRange {
    /// The range from `start` to `end`; if reversed, the empty range at `start`.
    pub fn new(start: u32, end: u32) -> Self {
        Self {
            start,
            end: end.max(start),
        }
    }

    /// The empty range at `at`.
    pub fn empty(at: u32) -> Self {
        Self { start: at, end: at }
    }

    /// Number of bytes in the range.
    pub fn len(self) -> u32 {
        self.end - self.start
    }

    /// Whether the range is empty.
    pub fn is_empty(self) -> bool {
        self.start == self.end
    }

    /// The smallest range that contains both.
    #[must_use]
    pub fn cover(self, other: Self) -> Self {
        Self {
            start: self.start.min(other.start),
            end: self.end.max(other.end),
        }
    }

    /// Whether `other` lies within this range.
    pub fn contains(self, other: Self) -> bool {
        self.start <= other.start && other.end <= self.end
    }

    /// Text of this range; empty if it is not on character boundaries of `text`.
    pub fn of(self, text: &str) -> &str {
        text.get(Range::<usize>::from(self)).unwrap_or_default()
    }
}

impl From<TextRange> for Range<usize> {
    fn from(range: TextRange) -> Self {
        range.start as usize..range.end as usize
    }
}

/// A range of bytes in one of several files.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Place {
    /// File that contains the range.
    pub file: FileId,
    /// Range in the file.
    pub range: TextRange,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_are_half_open() {
        let range = TextRange::new(2, 5);
        assert_eq!((range.len(), range.is_empty()), (3, false));
        assert_eq!((TextRange::empty(2).len(), TextRange::empty(2).is_empty()), (0, true));
        assert_eq!(TextRange::new(5, 2), TextRange::empty(5), "a reversed pair");
        assert_eq!(TextRange::new(4, 7).cover(range), TextRange::new(2, 7));
        assert!(range.contains(range) && range.contains(TextRange::empty(5)));
        assert!(!range.contains(TextRange::new(1, 5)) && !range.contains(TextRange::new(2, 6)));
    }

    #[test]
    fn a_range_within_a_character_has_no_text() {
        assert_eq!(TextRange::new(1, 3).of("aéb"), "é");
        assert_eq!(TextRange::new(1, 2).of("aéb"), "");
        assert_eq!(TextRange::new(1, 9).of("aéb"), "");
    }
}
