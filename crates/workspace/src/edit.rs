use std::borrow::Cow;
use std::sync::Arc;

use drysheath_text::{Edit, Encoding, LineIndex, Position, TextRange, apply};

/// A change of an open text as reported by an editor.
#[derive(Clone, Debug)]
pub enum Change {
    /// The whole text is replaced.
    Whole(String),
    /// A replacement of the text between two positions, each a line and a column in the agreed encoding.
    Part {
        /// Where the replaced text starts.
        start: Position,
        /// The position behind the last replaced character.
        end: Position,
        /// The text that replaces it.
        text: String,
    },
}

/// Applies changes in order, each relative to the text that the previous one produced. `lines` is the line index of
/// `text`, if at hand.
pub(crate) fn changed(
    text: &str,
    mut lines: Option<LineIndex>,
    changes: impl IntoIterator<Item = Change>,
    encoding: Encoding,
) -> Arc<str> {
    let mut text = Cow::Borrowed(text);
    for change in changes {
        let lines = lines.take();
        match change {
            Change::Whole(whole) => text = whole.into(),
            Change::Part { start, end, text: new } => {
                let lines = lines.unwrap_or_else(|| LineIndex::new(&text));
                let start = lines.offset(&text, start, encoding);
                let end = lines.offset(&text, end, encoding).max(start);
                let edit = Edit {
                    range: TextRange::new(start, end),
                    replacement: new,
                };
                if let Some(edited) = apply(&text, &[edit]) {
                    text = edited.into();
                }
            }
        }
    }
    text.into()
}
