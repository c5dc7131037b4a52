//! What is told of the word that a pointer rests on: what it means, and what it comes to in this office.

mod air;
mod carried;
mod dictionary;
mod inner;
mod lines;
mod numbers;
mod power;
mod quantity;
mod sensors;
mod things;

use drysheath_engineering::units::Dimension;
use drysheath_office::UnitPreferences;
use drysheath_text::TextRange;

use crate::analysis::Analysis;
use crate::card::Card;
use crate::words::{Meaning, Said, Words};

/// What is told of a word.
pub struct Hover {
    /// The word.
    pub range: TextRange,
    /// What is told.
    pub card: Card,
}

/// What is told of the word at an offset.
pub fn hover(analysis: &Analysis, offset: u32) -> Option<Hover> {
    let said = Words::new(analysis).at(offset)?;
    let teller = Teller {
        analysis,
        units: UnitPreferences::of(&analysis.office),
    };
    Some(Hover {
        range: said.range,
        card: teller.card(&said)?,
    })
}

/// Tells of one file, in the units that it is written in.
struct Teller<'a> {
    analysis: &'a Analysis,
    units: UnitPreferences,
}

impl Teller<'_> {
    fn card(&self, said: &Said<'_>) -> Option<Card> {
        let word = said.range.of(&self.analysis.text);
        match said.meaning {
            Meaning::Kind(kind) => Some(dictionary::kind(kind)),
            Meaning::Field { spec, kind } => Some(self.field(said.range, spec, kind)),
            Meaning::Choice(doc) => Some(dictionary::choice(word, doc)),
            Meaning::Rule(rule) => Some(dictionary::rule(rule)),
            Meaning::Unit(unit, measured) => Some(self.unit(unit, measured)),
            Meaning::Number(measured) => Some(self.quantity(measured)),
            Meaning::Thing { id, .. } => self.thing(id),
            Meaning::Part { name, .. } => self.part(name),
            Meaning::Inner { owner, key, name, .. } => self.inner(owner?, key, name),
            Meaning::Port { thing, port } => Some(self.port(thing, port)),
            Meaning::Numbered { thing, port, number } => Some(self.number(thing, port, number)),
            Meaning::Colours { thing, pair } => self.pair(thing, pair),
            _ => None,
        }
    }

    /// A figure in SI as this office would write it.
    fn show(&self, dimension: Dimension, si: f64) -> String {
        self.units.show(dimension, si)
    }

    fn name(&self, thing: drysheath_office::ThingId) -> &str {
        self.analysis.office.name(thing)
    }
}
