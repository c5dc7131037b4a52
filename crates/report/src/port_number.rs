use std::borrow::Cow;
use std::fmt;

use drysheath_office::{in_row, printed};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Serialize, Serializer};

/// The number of a port in records: a number, or a text where letters are printed before it.
#[derive(Clone, Copy, Debug, Eq, Ord, PartialEq, PartialOrd)]
pub struct PortNumber(pub u32);

impl fmt::Display for PortNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        printed(self.0).fmt(f)
    }
}

impl Serialize for PortNumber {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if in_row(self.0) == self.0 {
            serializer.serialize_u32(self.0)
        } else {
            serializer.collect_str(self)
        }
    }
}

impl JsonSchema for PortNumber {
    fn schema_name() -> Cow<'static, str> {
        "PortNumber".into()
    }

    fn inline_schema() -> bool {
        true
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": ["integer", "string"], "minimum": 0 })
    }
}
