//! JSON documents for programs.

use drysheath_text::safe;
use schemars::{JsonSchema, schema_for};
use serde::Serialize;

/// Serializes a record to JSON that is safe to print.
pub(crate) fn json(record: &impl Serialize) -> String {
    // The records have only string keys and no fallible fields.
    let document = serde_json::to_string_pretty(record).unwrap_or_default() + "\n";
    safe::json(&document).into_owned()
}

/// A JSON document with a list that is written item by item, so that the whole need not be in memory.
#[derive(Clone, Debug)]
pub struct Listing {
    start: String,
    end: String,
}

impl Listing {
    /// The document `empty`, to be filled with items in the list of its field `key`.
    pub(crate) fn filling(empty: &impl Serialize, key: &str) -> Self {
        let document = json(empty);
        // Strings contain no line ends, and only the document's own fields are indented by two blanks.
        let list = format!("\n  \"{key}\": [");
        let at = document.find(&format!("{list}]"));
        debug_assert!(at.is_some(), "{document} has no empty list under {key}");
        let (start, end) = document.split_at(at.map_or(document.len(), |at| at + list.len()));
        Self {
            start: start.to_owned(),
            end: end.strip_prefix(']').unwrap_or(end).to_owned(),
        }
    }

    /// An item of the list, without its separator. May be created on any thread.
    pub(crate) fn item(record: &impl Serialize) -> String {
        // Line ends within strings are escaped, so each line end here starts a line of the document.
        let item = serde_json::to_string_pretty(record).unwrap_or_default();
        safe::json(&item).replace('\n', "\n    ")
    }

    /// The text before the first item.
    pub fn start(&self) -> &str {
        &self.start
    }

    /// The separator before an item; `items` is the number of items before it.
    pub fn before_item(&self, items: usize) -> &'static str {
        if items == 0 { "\n    " } else { ",\n    " }
    }

    /// The text after the last item; `items` is the number of items.
    pub fn end(&self, items: usize) -> String {
        format!("{}]{}", if items == 0 { "" } else { "\n  " }, self.end)
    }
}

/// The JSON Schema of a record.
pub(crate) fn schema<R: JsonSchema>() -> String {
    json(&schema_for!(R))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Serialize)]
    struct Document {
        form: u32,
        before: Option<Vec<u32>>,
        items: Vec<(String, Vec<u32>)>,
        since: Option<Vec<u32>>,
    }

    #[test]
    fn a_list_that_is_written_item_by_item_is_the_same_document() {
        let items = [
            ("a\nb ##vso[task] \u{9b}".to_owned(), vec![1, 2]),
            ("[]".to_owned(), Vec::new()),
            (String::new(), vec![3]),
        ];
        for since in [None, Some(Vec::new())] {
            for count in 0..=items.len() {
                let document = |items: &[(String, Vec<u32>)]| Document {
                    form: 1,
                    before: since.clone(),
                    items: items.to_vec(),
                    since: since.clone(),
                };
                let listing = Listing::filling(&document(&[]), "items");
                let mut written = listing.start().to_owned();
                let items = items.iter().take(count).cloned().collect::<Vec<_>>();
                for (number, item) in items.iter().enumerate() {
                    written += listing.before_item(number);
                    written += &Listing::item(item);
                }
                written += &listing.end(count);
                assert_eq!(written, json(&document(&items)));
            }
        }
    }
}
