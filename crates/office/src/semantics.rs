//! Meanings of the words of a text.

use drysheath_engineering::units::{Quantity, Unit};
use drysheath_text::TextRange;

use crate::kinds::{FieldSpec, Key, Kind, Port};
use crate::model::ThingId;

/// A token and what it means.
#[derive(Clone, Copy, Debug)]
pub struct SemanticToken {
    /// Range of the token.
    pub range: TextRange,
    /// Meaning in this place.
    pub meaning: Meaning,
}

/// Meaning of a token.
#[derive(Clone, Copy, Debug)]
pub enum Meaning {
    /// A keyword, or a word with a fixed role in its statement.
    Keyword,
    /// `->`, `..` or `:`.
    Operator,
    /// A kind of thing.
    Kind(&'static Kind),
    /// The name of a thing, declared anywhere or not.
    Thing {
        /// The thing, if it exists.
        id: Option<ThingId>,
        /// Whether this is its declaration.
        declares: bool,
    },
    /// The name of a thing in the drawing of its assembly, in an office that places it.
    Within {
        /// The thing in the office.
        thing: ThingId,
    },
    /// The name of a part.
    Part {
        /// Whether this is its declaration.
        declares: bool,
    },
    /// The name of a field.
    Field {
        /// The field's entry in the table of kinds.
        spec: &'static FieldSpec,
        /// The kind of thing that the field belongs to, at any depth.
        kind: &'static Kind,
    },
    /// The name of a named field: a section, a branch, a place, a contact.
    Named {
        /// The thing that has the field. `None` in a part.
        thing: Option<ThingId>,
        /// The key of the field.
        key: Key,
        /// Whether this is its declaration.
        declares: bool,
        /// Whether it is inside another field, so that it cannot be named elsewhere.
        is_nested: bool,
    },
    /// The word for a port.
    Port {
        /// The thing that has the port.
        thing: ThingId,
        /// The port in the table of kinds.
        port: &'static Port,
    },
    /// The number of a pair, an input, a position.
    Numbered {
        /// The thing that has the port.
        thing: ThingId,
        /// The port in the table of kinds.
        port: &'static Port,
        /// The number that is written.
        number: u32,
    },
    /// `rest` in place of numbers: all numbers that no statement names.
    Rest {
        /// The thing that has the port.
        thing: ThingId,
        /// The port in the table of kinds.
        port: &'static Port,
    },
    /// The colours of a pair.
    Colours {
        /// The block or cable.
        thing: ThingId,
        /// The number of the pair.
        pair: u32,
    },
    /// A number with a unit.
    Number(Figure),
    /// The unit of a number, and the quantity if the two are valid.
    Unit(&'static Unit, Option<Figure>),
    /// A number without a unit that counts something.
    Count,
    /// A word of a choice, with its meaning.
    Choice(&'static str),
    /// A former name of a thing.
    FormerName,
    /// The name of one of the repository's own facts.
    RecordName,
    /// The name of a rule, existing or not.
    Rule,
    /// The path of a file of parts.
    Path,
    /// A text between quotes.
    Text,
    /// A calendar date.
    Date,
    /// A comma, a brace or a line end.
    Punctuation,
    /// A word without a meaning here.
    Nothing,
}

/// A number and its unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// The number and unit as written, not converted.
    pub quantity: Quantity,
    /// Whether it is a difference of two figures rather than a figure on their scale.
    pub is_difference: bool,
}
