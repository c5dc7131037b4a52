//! Describes the word under the pointer: what it means, and the figures of what it names in this office.

mod air;
mod circuits;
mod dictionary;
mod lines;
mod named_fields;
mod numbers;
mod power;
mod quantity;
mod sensors;
mod states;
mod things;

use drysheath_engineering::units::Dimension;
use drysheath_office::{Meaning, SemanticToken, UnitPreferences};
use drysheath_syntax::{Statement, comment_lines, comments_above};
use drysheath_text::TextRange;
use drysheath_workspace::Analysis;
pub(crate) use sensors::expected;

use crate::markup::Markup;
use crate::statements::STATEMENTS;
use crate::words::{statement_at, token_at};

/// What an editor shows about a word.
pub struct Hover {
    /// The bytes of the word that is explained.
    pub range: TextRange,
    /// The explanation that is shown.
    pub text: Markup,
}

/// Describes the word at an offset.
pub fn hover(analysis: &Analysis, offset: u32) -> Option<Hover> {
    let token = token_at(analysis, offset)?;
    let describer = Describer {
        analysis,
        units: UnitPreferences::of(&analysis.office),
    };
    Some(Hover {
        range: token.range,
        text: describer.describe(&token)?,
    })
}

/// Describes the words of one file, with figures in the units that it is written in.
struct Describer<'a> {
    analysis: &'a Analysis,
    units: UnitPreferences,
}

impl Describer<'_> {
    fn describe(&self, token: &SemanticToken) -> Option<Markup> {
        let statement = statement_at(self.analysis, token.range.start);
        if let Some(statement) = statement
            && matches!(token.meaning, Meaning::Keyword)
            && let Some(state) = self.state(statement)
        {
            return Some(state);
        }
        if let Some(statement) = statement.filter(|statement| statement.range.start == token.range.start)
            && matches!(token.meaning, Meaning::Keyword)
        {
            return self.statement(statement);
        }
        let word = token.range.of(&self.analysis.text);
        match token.meaning {
            Meaning::Kind(kind) => Some(dictionary::kind(kind)),
            Meaning::Field { spec, kind } => Some(self.field(token.range, spec, kind)),
            Meaning::Choice(doc) => Some(dictionary::choice(word, doc)),
            Meaning::FormerName => Some(self.former_name(token.range)),
            Meaning::RecordName => Some(self.record_name(word)),
            Meaning::Rule => drysheath_rules::find(word).map(dictionary::rule),
            Meaning::Unit(unit, figure) => Some(self.unit(unit, figure)),
            Meaning::Number(figure) => Some(self.quantity(figure)),
            Meaning::Thing { id, .. } => self.thing(id?),
            Meaning::Within { thing } => self.thing(thing),
            Meaning::Part { .. } => self.part(token.range),
            Meaning::Named { thing, key, .. } => self.inner(thing?, key, word),
            Meaning::Port { thing, port } => Some(self.port(thing, port)),
            Meaning::Numbered { thing, port, number } => Some(self.number(thing, port, number)),
            Meaning::Rest { thing, port } => Some(self.rest(thing, port)),
            Meaning::Colours { thing, pair } => self.pair(thing, pair),
            _ => None,
        }
    }

    /// A figure in SI as this office would write it.
    fn show(&self, dimension: Dimension, si: f64) -> String {
        self.units.show(dimension, si)
    }

    /// A statement by its first word: what is written above it, and what such a statement says.
    fn statement(&self, statement: &Statement) -> Option<Markup> {
        let text = &self.analysis.text;
        let first = statement.range.of(text).lines().next().unwrap_or_default();
        let mut markup = Markup::new(format!("`{}`", first.trim_end()));
        let is_commented = self.comments(&mut markup, statement.range);
        let word = first.split_whitespace().next().unwrap_or_default();
        let Some((_, doc)) = STATEMENTS.iter().find(|(known, _)| *known == word) else {
            return is_commented.then_some(markup);
        };
        markup.sentence(*doc);
        Some(markup)
    }

    /// Adds what the comments right above a statement say, of which there are some.
    fn comments(&self, markup: &mut Markup, statement: TextRange) -> bool {
        /// A longer text is better read in the file.
        const MOST: usize = 12;
        let text = &*self.analysis.text;
        let Some(comments) = comments_above(text, statement.start) else {
            return false;
        };
        let lines: Vec<&str> = comment_lines(comments.of(text)).collect();
        let shown = lines.get(..MOST).unwrap_or(&lines);
        let paragraphs = shown.split(|line| line.is_empty()).filter(|lines| !lines.is_empty());
        for paragraph in paragraphs {
            markup.sentence(paragraph.join(" "));
        }
        if shown.len() < lines.len() {
            markup.sentence("…");
        }
        true
    }

    /// A name that the thing around it had before.
    fn former_name(&self, range: TextRange) -> Markup {
        let name = range.of(&self.analysis.text);
        let mut markup = Markup::new(format!("`{name}`: a former name"));
        let now = self.analysis.office.thing_around(range).map(|id| self.name(id));
        markup.sentence(format!(
            "Records and comparisons with a state in which something is called `{name}` follow it to {}.",
            now.map_or("this thing".to_owned(), |now| format!("`{now}`"))
        ));
        markup
    }

    /// The name of a fact of the repository's own.
    fn record_name(&self, name: &str) -> Markup {
        let mut markup = Markup::new(format!("`{name}`: a record"));
        markup.sentence(
            "A fact under a name that this repository chose. No check reads it; records and comparisons have it.",
        );
        if let Some(names) = self.analysis.settings.record_names() {
            let is_listed = names.iter().any(|listed| **listed == *name);
            markup.fact(if is_listed {
                "listed in the settings"
            } else {
                "not listed in the settings"
            });
        }
        markup
    }

    fn name(&self, thing: drysheath_office::ThingId) -> &str {
        self.analysis.office.name(thing)
    }
}
