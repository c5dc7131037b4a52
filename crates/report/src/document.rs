//! JSON documents for programs.

use drysheath_text::safe;
use schemars::{JsonSchema, schema_for};
use serde::Serialize;

/// A record as a JSON document that may be printed.
pub(crate) fn json(record: &impl Serialize) -> String {
    // The records have text as keys and nothing that could fail.
    let document = serde_json::to_string_pretty(record).unwrap_or_default() + "\n";
    safe::json(&document).into_owned()
}

/// A JSON document with a list that is written item by item: nobody has to hold all of it.
#[derive(Clone, Debug)]
pub struct Listing {
    start: String,
    end: String,
}

impl Listing {
    /// The document that `empty` is with the list under `key` filled, which is one of its own fields.
    pub(crate) fn filling(empty: &impl Serialize, key: &str) -> Self {
        let document = json(empty);
        // No text has a line end in it, and only fields of the document itself are indented by two.
        let list = format!("\n  \"{key}\": [");
        let at = document.find(&format!("{list}]"));
        debug_assert!(at.is_some(), "{document} has no empty list under {key}");
        let (start, end) = document.split_at(at.map_or(document.len(), |at| at + list.len()));
        Self {
            start: start.to_owned(),
            end: end.strip_prefix(']').unwrap_or(end).to_owned(),
        }
    }

    /// An item of the list, without what parts it from the one before. Any thread may make it.
    pub(crate) fn item(record: &impl Serialize) -> String {
        // A line end within a text is written as an escape, so that each begins a line of the document.
        let item = serde_json::to_string_pretty(record).unwrap_or_default();
        safe::json(&item).replace('\n', "\n    ")
    }

    /// What comes before the first item.
    pub fn start(&self) -> &str {
        &self.start
    }

    /// What comes before an item, by the number of those before it.
    pub fn before_item(&self, items: usize) -> &'static str {
        if items == 0 { "\n    " } else { ",\n    " }
    }

    /// What comes after all items, by their number.
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
