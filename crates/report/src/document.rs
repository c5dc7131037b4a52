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

/// The JSON Schema of a record.
pub(crate) fn schema<R: JsonSchema>() -> String {
    json(&schema_for!(R))
}
