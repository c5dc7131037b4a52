//! What each word of a text means.

use drysheath_engineering::units::{Quantity, Unit};
use drysheath_text::TextRange;

use crate::kinds::{FieldSpec, Key, Kind, Port};
use crate::model::ThingId;

/// A token and what it means.
#[derive(Clone, Copy, Debug)]
pub struct SemanticToken {
    /// The bytes of the token.
    pub range: TextRange,
    /// What the token means in its place.
    pub meaning: Meaning,
}

/// What a token means.
#[derive(Clone, Copy, Debug)]
pub enum Meaning {
    /// One of the language's own words, or one that binds the words around it.
    Keyword,
    /// `->`, `..` or `:`.
    Operator,
    /// A kind of thing.
    Kind(&'static Kind),
    /// The name of a thing, known or not.
    Thing {
        /// The thing of that name.
        id: Option<ThingId>,
        /// Whether the thing is declared here.
        declares: bool,
    },
    /// The name that a thing has in the drawing of its assembly, named in an office that places it.
    Within {
        /// The thing in the office.
        thing: ThingId,
    },
    /// The name of a part.
    Part {
        /// Whether the part is declared here.
        declares: bool,
    },
    /// The name of a field.
    Field {
        /// The field's entry in the table of kinds.
        spec: &'static FieldSpec,
        /// The kind of thing that it is a field of, however deep inside.
        kind: &'static Kind,
    },
    /// The name of a named field: a section, a branch, a place, a contact.
    Named {
        /// The thing whose field it is; none for a part's.
        thing: Option<ThingId>,
        /// The field's own name.
        key: Key,
        /// Whether it is declared here.
        declares: bool,
        /// Whether it is inside another field, so that nothing can name it from elsewhere.
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
    /// `rest` in place of numbers: all that no statement names.
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
    /// The unit of a number, and the two together where they make a quantity.
    Unit(&'static Unit, Option<Figure>),
    /// A number that counts.
    Count,
    /// One of the words that may be written there, and what it means.
    Choice(&'static str),
    /// A name that a thing had before.
    FormerName,
    /// The name of a fact of the repository's own.
    RecordName,
    /// The name of a rule, known or not.
    Rule,
    /// The path of a file of parts.
    Path,
    /// A text between quotes.
    Text,
    /// A day of the calendar.
    Date,
    /// A comma, a brace or a line end.
    Punctuation,
    /// A word that means nothing here.
    Nothing,
}

/// A number and its unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// The quantity that the two make.
    pub quantity: Quantity,
    /// Whether it is a difference of two figures, and no figure on its scale.
    pub is_difference: bool,
}
