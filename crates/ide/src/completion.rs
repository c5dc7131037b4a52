//! What could be written next. The statement around the caret is rarely whole, so it is read from its start up to the caret:
//! the grammar and the readers that make the office of a text say what they could go on with there.

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

/// Something that could be written.
#[derive(Clone, Debug)]
pub struct Completion {
    /// What is shown and what typed letters are compared with.
    pub label: String,
    /// What kind of word or text it is.
    pub kind: CompletionKind,
    /// What it is, in a phrase.
    pub detail: String,
    /// What it means, in a sentence or two.
    pub documentation: String,
    /// What it takes the place of.
    pub replace: TextRange,
    /// The replacement text.
    pub insert: String,
    /// The same with places to fill in, for editors that support them.
    pub snippet: Option<String>,
    /// What has to change elsewhere with it.
    pub also: Vec<Edit>,
}

/// What a completion is.
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
    /// The end of a run with the next number that is free.
    NextFree,
    Part,
    File,
    Rule,
    Colour,
    Date,
    Text,
}

/// What could be written at an offset, the likeliest first.
pub fn completions(snapshot: &Snapshot, analysis: &Analysis, at: u32) -> Vec<Completion> {
    let at = analysis.text.floor_char_boundary(at as usize) as u32;
    let Some((caret, unfinished)) = Caret::new(analysis, at) else {
        return Vec::new();
    };
    let mut items = items::Items::new(snapshot, analysis, caret);
    heads::offer(&mut items, &unfinished);
    items.found
}
