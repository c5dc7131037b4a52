//! Hover: the meaning of a word, and the figures in this office of what it names.

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

/// The hover for a word.
pub struct Hover {
    /// Range of the word.
    pub range: TextRange,
    /// Explanation of the word.
    pub text: Markup,
}

/// The hover at an offset.
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

/// Creates hovers for one file, with figures in the units of its office.
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

    /// Formats an SI figure in the office's unit.
    fn show(&self, dimension: Dimension, si: f64) -> String {
        self.units.show(dimension, si)
    }

    /// Describes a statement at its first word: the comments above it, and the meaning of such a statement.
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

    /// Adds the comments directly above a statement. Returns whether there are any.
    fn comments(&self, markup: &mut Markup, statement: TextRange) -> bool {
        /// Longer comments are better read in the file.
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

    /// Describes a former name of a thing.
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

    /// Describes the name of one of the repository's own facts.
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
