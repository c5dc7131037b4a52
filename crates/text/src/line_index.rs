use crate::TextRange;

/// Unit in which columns are counted, as agreed between editor and server.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8 code units, which are bytes.
    Utf8,
    /// UTF-16 code units, the protocol's default.
    Utf16,
    /// Characters (Unicode scalar values).
    Utf32,
}

/// A line and a column, both counted from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Position {
    /// Line number, from 0.
    pub line: u32,
    /// Column from 0, in the units of the encoding requested.
    pub column: u32,
}

/// The offset at which each line of a text starts, to convert between byte offsets and positions. Lines end only at
/// `\n`, so that line numbers are the same here, in an editor and in a diff; form feed and U+2028 do not end a line.
#[derive(Clone, Debug)]
pub struct LineIndex {
    starts: Vec<u32>,
}

impl LineIndex {
    /// Finds the line starts of `text`.
    pub fn new(text: &str) -> Self {
        let newlines = text.match_indices('\n');
        let starts = std::iter::once(0)
            .chain(newlines.map(|(at, _)| at as u32 + 1))
            .collect();
        Self { starts }
    }

    /// Number of lines; an empty text has one.
    pub fn len(&self) -> u32 {
        self.starts.len() as u32
    }

    /// Never true: even an empty text has a line.
    pub fn is_empty(&self) -> bool {
        self.starts.is_empty()
    }

    /// Range of a line without its line end; empty past the last line.
    pub fn line(&self, text: &str, line: u32) -> TextRange {
        let Some(&start) = self.starts.get(line as usize) else {
            return TextRange::empty(text.len() as u32);
        };
        let next = self.starts.get(line as usize + 1).copied();
        let whole = TextRange::new(start, next.unwrap_or(text.len() as u32));
        let content = whole.of(text).trim_end_matches(['\n', '\r']);
        TextRange::new(start, start + content.len() as u32)
    }

    /// Position of a byte offset. An offset past the end, or inside a character, counts as the nearest character
    /// boundary before it.
    pub fn position(&self, text: &str, offset: u32, encoding: Encoding) -> Position {
        let mut offset = (offset as usize).min(text.len());
        while !text.is_char_boundary(offset) {
            offset -= 1;
        }
        let line = self.starts.partition_point(|start| *start as usize <= offset) - 1;
        let start = self.starts.get(line).copied().unwrap_or_default();
        let before = TextRange::new(start, offset as u32).of(text);
        Position {
            line: line as u32,
            column: width(before, encoding),
        }
    }

    /// Byte offset of a position. A column past the line's end counts as its end, one inside a character as its start.
    pub fn offset(&self, text: &str, position: Position, encoding: Encoding) -> u32 {
        let line = self.line(text, position.line);
        let mut column = 0;
        for (at, character) in line.of(text).char_indices() {
            column += units(character, encoding);
            if column > position.column {
                return line.start + at as u32;
            }
        }
        line.end
    }
}

fn width(text: &str, encoding: Encoding) -> u32 {
    if encoding == Encoding::Utf8 || text.is_ascii() {
        return text.len() as u32;
    }
    text.chars().map(|character| units(character, encoding)).sum()
}

fn units(character: char, encoding: Encoding) -> u32 {
    match encoding {
        Encoding::Utf8 => character.len_utf8() as u32,
        Encoding::Utf16 => character.len_utf16() as u32,
        Encoding::Utf32 => 1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "air\r\n🧭é x\n\nend";

    #[test]
    fn every_encoding_counts_its_own_units() {
        let index = LineIndex::new(TEXT);
        let at = TEXT.find('x').map(|at| at as u32);
        let columns = [(Encoding::Utf8, 7), (Encoding::Utf16, 4), (Encoding::Utf32, 3)];
        for (encoding, column) in columns {
            let position = Position { line: 1, column };
            assert_eq!(at.map(|at| index.position(TEXT, at, encoding)), Some(position));
            assert_eq!(Some(index.offset(TEXT, position, encoding)), at);
        }
    }

    #[test]
    fn every_offset_comes_back() {
        let index = LineIndex::new(TEXT);
        for (at, _) in TEXT.char_indices().filter(|(_, c)| !"\r\n".contains(*c)) {
            for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
                let position = index.position(TEXT, at as u32, encoding);
                assert_eq!(index.offset(TEXT, position, encoding), at as u32);
            }
        }
    }

    #[test]
    fn places_outside_the_text_are_brought_in() {
        let index = LineIndex::new(TEXT);
        let far = Position { line: 99, column: 9 };
        assert_eq!(index.offset(TEXT, far, Encoding::Utf8), TEXT.len() as u32);
        let wide = Position { line: 0, column: 99 };
        assert_eq!(index.offset(TEXT, wide, Encoding::Utf8), 3);
        assert_eq!(index.position(TEXT, 6, Encoding::Utf8).column, 0, "inside the emoji");
        assert_eq!(
            LineIndex::new("").position("", 7, Encoding::Utf16),
            Position { line: 0, column: 0 }
        );
    }
}
