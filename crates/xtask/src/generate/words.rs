//! Words of the language by category, from its tables.

use std::collections::{BTreeMap, BTreeSet};

use drysheath_engineering::units::{UNITS, Unit};
use drysheath_office::kinds::{FieldSpec, KINDS, Shape};
use drysheath_office::{BINDING_WORDS, LimitLevel, Severity};
use drysheath_syntax::{Medium, TokenKind, WORDS, lex};
use strum::VariantArray;

type Set = BTreeSet<&'static str>;

/// The categories that an editor can know without a server. Words of earlier language versions are left out.
#[derive(Default)]
pub(super) struct Words {
    /// Words of kinds, such as `dryer`.
    pub kinds: Set,
    /// Words of fields, such as `set`.
    pub fields: Set,
    /// Fields followed by a name and a block.
    pub named: Set,
    /// Choices of each field.
    pub choices: BTreeMap<&'static str, Set>,
    /// Words of ports, such as `outlet`.
    pub ports: Set,
    /// Words for the levels of limits.
    pub levels: Set,
    /// Words for the severities of alarms.
    pub severities: Set,
    /// Units in every spelling that is read.
    pub units: Set,
    /// Keywords of the language.
    pub own: Set,
    /// Keywords that start a statement.
    pub statements: Set,
    /// Keywords that start a run.
    pub media: Set,
    /// Conjunctions used in one type of statement only.
    pub binding: Set,
}

impl Words {
    /// Collects the words from the current tables.
    pub fn of_tables() -> Self {
        let starts = |word: &&str| lex(word).iter().any(|token| token.kind.starts_statement());
        let mut words = Self {
            units: UNITS.iter().flat_map(Unit::spellings).filter(is_word).collect(),
            levels: LimitLevel::VARIANTS.iter().map(|level| level.word()).collect(),
            severities: Severity::VARIANTS.iter().map(|severity| (*severity).into()).collect(),
            own: WORDS.into_iter().collect(),
            media: [Medium::Air, Medium::Wire, Medium::Power, Medium::Ground]
                .map(Medium::word)
                .into_iter()
                .collect(),
            statements: WORDS.into_iter().filter(starts).collect(),
            binding: BINDING_WORDS.into_iter().collect(),
            ..Self::default()
        };
        for kind in KINDS {
            words.kinds.insert(kind.word());
            words.ports.extend(kind.ports.iter().map(|port| port.word));
            words.add_fields(kind.fields);
        }
        words
    }

    fn add_fields(&mut self, specs: &'static [FieldSpec]) {
        for spec in specs.iter().filter(|spec| spec.gone.is_none()) {
            let word = spec.word();
            self.fields.insert(word);
            let mut may_say = |said: Set| self.choices.entry(word).or_default().extend(said);
            match spec.shape {
                Shape::Choice(choices) => may_say(choices.iter().map(|choice| choice.word()).collect()),
                Shape::YesNo => may_say(Set::from(["yes", "no"])),
                Shape::Group(inner) => self.add_fields(inner),
                Shape::Named(inner) => {
                    self.named.insert(word);
                    self.add_fields(inner);
                }
                _ => {}
            }
        }
    }
}

/// Whether the lexer reads it as one word; some spellings of units, accepted from other programs, are not.
fn is_word(spelling: &&str) -> bool {
    matches!(*lex(spelling), [token] if token.kind == TokenKind::Word)
}
