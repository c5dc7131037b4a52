//! What holds of every output.

use std::fmt::Debug;
use std::panic::RefUnwindSafe;
use std::str::FromStr;

use drysheath_text::TextRange;
use jsonschema::Validator;
use serde_json::Value;

/// A JSON Schema that is read once. Nothing of it changes when a check fails.
pub(crate) struct Schema(Validator);

impl RefUnwindSafe for Schema {}

impl Schema {
    pub fn new(text: &str) -> Self {
        let schema = Value::from_str(text).unwrap();
        Self(jsonschema::validator_for(&schema).unwrap())
    }

    /// What is written is JSON of this schema.
    pub fn holds(&self, json: &str) {
        let value = Value::from_str(json).unwrap_or_else(|error| panic!("{error}: {json}"));
        if let Err(error) = self.0.validate(&value) {
            panic!("{error} at {}: {json}", error.instance_path);
        }
        is_printable(json);
    }
}

/// Nothing in it moves a cursor, rings a bell or turns the order of what is read round.
pub(crate) fn is_printable(text: &str) {
    let is_allowed = |character: char| {
        matches!(character, '\n')
            || !character.is_control() && !matches!(character, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    if let Some(character) = text.chars().find(|character| !is_allowed(*character)) {
        panic!("{character:?} is printed: {text:?}");
    }
}

/// Every figure of a record is a number: one that is not known is absent.
pub(crate) fn is_finite(record: &impl Debug) {
    let text = format!("{record:?}");
    let mut words = Vec::new();
    let (mut quoted, mut escaped, mut word) = (false, false, String::new());
    for character in text.chars() {
        if quoted {
            quoted = escaped || character != '"';
            escaped = !escaped && character == '\\';
            continue;
        }
        if character.is_alphanumeric() || character == '_' {
            word.push(character);
            continue;
        }
        quoted = character == '"';
        words.push(std::mem::take(&mut word));
    }
    assert!(!words.iter().any(|word| word == "NaN" || word == "inf"), "{text}");
}

/// Words that only a figure gone wrong prints, where the text itself has none of them.
pub(crate) fn says_no_infinity(text: &str, out: &str) {
    for word in ["NaN", "inf"] {
        let is_word = |piece: &str| piece.split(|it: char| !it.is_alphanumeric()).any(|it| it == word);
        assert!(is_word(text) || !is_word(out), "{out}");
    }
}

/// A range of the text, between characters.
pub(crate) fn is_range_of(text: &str, range: TextRange) {
    assert!(
        text.get(range.start as usize..range.end as usize).is_some(),
        "{range:?} of {} bytes",
        text.len()
    );
}
