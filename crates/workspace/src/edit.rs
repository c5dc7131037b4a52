use drysheath_text::{Edit, Encoding, LineIndex, Position, TextRange, apply};

/// A change of an open text, as an editor reports it.
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

/// The text after changes that follow one another, each counted in the text that the one before has left.
pub(crate) fn changed(text: &str, changes: impl IntoIterator<Item = Change>, encoding: Encoding) -> String {
    let mut text = text.to_owned();
    for change in changes {
        match change {
            Change::Whole(whole) => text = whole,
            Change::Part { start, end, text: new } => {
                let lines = LineIndex::new(&text);
                let start = lines.offset(&text, start, encoding);
                let end = lines.offset(&text, end, encoding).max(start);
                let edit = Edit {
                    range: TextRange::new(start, end),
                    replacement: new,
                };
                if let Some(edited) = apply(&text, &[edit]) {
                    text = edited;
                }
            }
        }
    }
    text
}
