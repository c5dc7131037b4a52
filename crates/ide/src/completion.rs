//! Completion. The statement at the caret is rarely complete, so it is read from its start up to the caret: the grammar
//! and the readers that build the office report what could continue it.

mod address;
mod attributes;
mod caret;
mod ends;
mod fields;
mod heads;
mod items;
mod records;
mod states;
mod template;
mod units;
mod values;

use drysheath_text::{Edit, TextRange};
use drysheath_workspace::{Analysis, Snapshot};

use caret::Caret;

/// A completion offered at the caret.
#[derive(Clone, Debug)]
pub struct Completion {
    /// The displayed label, which typed letters are matched with.
    pub label: String,
    /// Kind of completion, for the icon.
    pub kind: CompletionKind,
    /// A phrase that describes it.
    pub detail: String,
    /// Meaning in a sentence or two.
    pub documentation: String,
    /// The range that it replaces.
    pub replace: TextRange,
    /// Text inserted in place of the replaced range.
    pub insert: String,
    /// The replacement with placeholders, for editors that support them.
    pub snippet: Option<String>,
    /// Further edits elsewhere in the file, such as a missing comma.
    pub also: Vec<Edit>,
}

/// Kind of a completion item.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs, reason = "the words say it")]
pub enum CompletionKind {
    Kind,
    Keyword,
    Field,
    Choice,
    Unit,
    Value,
    Thing,
    Port,
    /// The end of a run with the next free number.
    NextFree,
    Part,
    File,
    Rule,
    Colour,
    Date,
    Text,
}

/// The completion items at an offset, the likeliest first.
pub fn completions(snapshot: &Snapshot, analysis: &Analysis, at: u32) -> Vec<Completion> {
    let at = analysis.text.floor_char_boundary(at as usize) as u32;
    let Some((caret, unfinished)) = Caret::new(analysis, at) else {
        return Vec::new();
    };
    let mut items = items::Items::new(snapshot, analysis, caret);
    heads::offer(&mut items, &unfinished);
    items.found
}
