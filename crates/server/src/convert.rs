//! Conversion between byte ranges and the protocol's positions. No other module does this.

use std::sync::Arc;

use drysheath_text::{Edit, Encoding, FileId, LineIndex, Place, TextRange};
use drysheath_workspace::{Change, Snapshot};
use tower_lsp::lsp_types as lsp;

use crate::uri::uri_of;

/// A text and the encoding in which columns are counted.
#[derive(Clone)]
pub(crate) struct PositionConverter {
    pub text: Arc<str>,
    pub lines: LineIndex,
    pub encoding: Encoding,
}

impl PositionConverter {
    /// The text of a file. `None` if it cannot be read.
    pub fn of(snapshot: &Snapshot, file: FileId, encoding: Encoding) -> Option<Self> {
        let (text, lines) = snapshot.text(file)?;
        Some(Self { text, lines, encoding })
    }

    pub fn position(&self, offset: u32) -> lsp::Position {
        let position = self.lines.position(&self.text, offset, self.encoding);
        lsp::Position::new(position.line, position.column)
    }

    pub fn range(&self, range: TextRange) -> lsp::Range {
        lsp::Range::new(self.position(range.start), self.position(range.end))
    }

    pub fn offset(&self, position: lsp::Position) -> u32 {
        self.lines.offset(&self.text, ours(position), self.encoding)
    }

    /// Byte range of a protocol range. A range that ends before it starts is empty.
    pub fn bytes(&self, range: lsp::Range) -> TextRange {
        let start = self.offset(range.start);
        TextRange::new(start, self.offset(range.end).max(start))
    }

    pub fn edit(&self, edit: &Edit) -> lsp::TextEdit {
        lsp::TextEdit::new(self.range(edit.range), edit.replacement.clone())
    }

    pub fn edits(&self, edits: &[Edit]) -> Vec<lsp::TextEdit> {
        edits.iter().map(|edit| self.edit(edit)).collect()
    }
}

fn ours(position: lsp::Position) -> drysheath_text::Position {
    drysheath_text::Position {
        line: position.line,
        column: position.character,
    }
}

/// Converts a change for the workspace.
pub(crate) fn change(event: lsp::TextDocumentContentChangeEvent) -> Change {
    match event.range {
        None => Change::Whole(event.text),
        Some(range) => Change::Part {
            start: ours(range.start),
            end: ours(range.end),
            text: event.text,
        },
    }
}

/// A place in any file. `None` if its text cannot be read.
pub(crate) fn location(snapshot: &Snapshot, place: Place, encoding: Encoding) -> Option<lsp::Location> {
    let uri = uri_of(&snapshot.path(place.file)?)?;
    let positions = PositionConverter::of(snapshot, place.file, encoding)?;
    Some(lsp::Location::new(uri, positions.range(place.range)))
}
