//! What each word of a statement is to whoever reads it. Colours, hover and hints all start from here. It goes by what is
//! written and by names alone, so that it has an answer in damaged text too.

mod ends;
mod fields;

use drysheath_engineering::units::{self, Quantity, Unit};
use drysheath_office::ThingId;
use drysheath_office::kinds::{FieldSpec, Key, Kind, Port};
use drysheath_rules::Rule;
use drysheath_syntax::{Items, Statement, StatementKind, TokenKind, Word};
use drysheath_text::TextRange;
use rustc_hash::FxHashMap;

use crate::analysis::Analysis;

/// A word, number or sign, and what it is.
#[derive(Clone, Copy)]
pub(crate) struct Said<'a> {
    pub range: TextRange,
    pub meaning: Meaning<'a>,
}

/// What a word is.
#[derive(Clone, Copy)]
pub(crate) enum Meaning<'a> {
    /// One of the language's own words, or one that binds what stands around it.
    Keyword,
    /// `->`, `..` or `:`.
    Operator,
    /// A kind of thing.
    Kind(&'static Kind),
    /// The name of a thing.
    Thing { id: ThingId, declared: bool },
    /// The name of a part.
    Part { name: &'a str, declared: bool },
    /// The name of a field.
    Field {
        spec: &'static FieldSpec,
        /// The kind of thing that it is a field of, however deep inside.
        kind: &'static Kind,
    },
    /// The name of something inside a thing: a section, a place, a contact.
    Inner {
        owner: Option<ThingId>,
        key: Key,
        name: &'a str,
        declared: bool,
    },
    /// The word for a port.
    Port { thing: ThingId, port: &'static Port },
    /// The number of a pair, an input, a position.
    Numbered {
        thing: ThingId,
        port: &'static Port,
        number: u32,
    },
    /// The colours of a pair.
    Colours { thing: ThingId, pair: u32 },
    /// A number with a unit.
    Number(Measured),
    /// The unit of a number.
    Unit(&'static Unit, Option<Measured>),
    /// A number that counts.
    Count,
    /// One of the words that may stand there, and what it means.
    Choice(&'static str),
    /// The name of a rule.
    Rule(&'static Rule),
    /// The path of a file of parts.
    Path,
    /// Text in quotes.
    Text,
    /// A day.
    Date,
    /// Commas, braces, line ends.
    Sign,
    /// A word that means nothing here.
    Nothing,
}

/// A number and its unit.
#[derive(Clone, Copy)]
pub(crate) struct Measured {
    pub quantity: Quantity,
    /// Whether it is a difference of two figures, and no figure on its scale.
    pub is_difference: bool,
}

/// The words of one file.
pub(crate) struct Words<'a> {
    analysis: &'a Analysis,
    names: FxHashMap<&'a str, ThingId>,
}

impl<'a> Words<'a> {
    /// The words of a file.
    pub fn new(analysis: &'a Analysis) -> Self {
        let mut names = FxHashMap::default();
        for (id, thing) in analysis.office.things() {
            if !thing.name.is_empty() {
                names.entry(thing.name.of(&analysis.text)).or_insert(id);
            }
        }
        Self { analysis, names }
    }

    /// The word at an offset. Of two that meet there, the one that begins is meant, unless it is a sign.
    pub fn at(&self, offset: u32) -> Option<Said<'a>> {
        let statement = statement_at(self.analysis, offset)?;
        let said = self.of(statement);
        let touching = said
            .iter()
            .filter(|said| said.range.start <= offset && offset <= said.range.end && !said.range.is_empty());
        touching
            .rev()
            .min_by_key(|said| matches!(said.meaning, Meaning::Sign | Meaning::Operator))
            .copied()
    }

    /// All words of a statement, in order.
    pub fn of(&self, statement: &Statement) -> Vec<Said<'a>> {
        let tree = &self.analysis.tree;
        let tokens = tree.items(&statement.items);
        let said = tokens.iter().map(|token| Said {
            range: token.range,
            meaning: plain(token.kind),
        });
        let mut reader = Reader {
            words: self,
            first: statement.items.start,
            said: said.collect(),
        };
        reader.statement(statement);
        reader.said
    }
}

/// The statement at an offset, its very end included.
pub(crate) fn statement_at(analysis: &Analysis, offset: u32) -> Option<&Statement> {
    let statements = &analysis.tree.statements;
    let at = statements.partition_point(|statement| statement.range.end < offset);
    statements.get(at).filter(|statement| statement.range.start <= offset)
}

/// What a token is by itself.
fn plain<'a>(kind: TokenKind) -> Meaning<'a> {
    match kind {
        TokenKind::Number => Meaning::Count,
        TokenKind::Date => Meaning::Date,
        TokenKind::Text | TokenKind::OpenText => Meaning::Text,
        TokenKind::Arrow | TokenKind::DotDot | TokenKind::Colon => Meaning::Operator,
        TokenKind::Word | TokenKind::Unknown => Meaning::Nothing,
        kind if kind.is_keyword() => Meaning::Keyword,
        _ => Meaning::Sign,
    }
}

/// Goes through one statement and notes what its words are.
struct Reader<'w, 'a> {
    words: &'w Words<'a>,
    /// The number of the statement's first word.
    first: Word,
    said: Vec<Said<'a>>,
}

impl<'a> Reader<'_, 'a> {
    fn text(&self, word: Word) -> &'a str {
        let analysis = self.words.analysis;
        analysis.tree.range(word).of(&analysis.text)
    }

    fn kind_of(&self, word: Word) -> TokenKind {
        self.words.analysis.tree.token(word).kind
    }

    fn is(&mut self, word: Word, meaning: Meaning<'a>) {
        let at = word.checked_sub(self.first);
        if let Some(said) = at.and_then(|at| self.said.get_mut(at as usize)) {
            said.meaning = meaning;
        }
    }

    fn statement(&mut self, statement: &Statement) {
        match &statement.kind {
            StatementKind::Use(used) => {
                if let Some(path) = used.path {
                    self.is(path, Meaning::Path);
                }
            }
            StatementKind::Part(thing) => self.declaration(thing, None),
            StatementKind::Thing(thing) => {
                let things = &self.words.analysis.office.things;
                let at = things.binary_search_by_key(&statement.range, |thing| thing.range);
                self.declaration(thing, at.ok().map(|at| ThingId(at as u32)));
            }
            StatementKind::Run(run) => {
                for end in &run.ends {
                    self.end(&end.items, Some(run.medium));
                }
                for items in &run.with {
                    self.joining(items);
                }
            }
            StatementKind::Spare(spare) => self.end(&spare.items, None),
            StatementKind::Accept(accept) => {
                if let Some(rule) = drysheath_rules::find(self.text(accept.rule)) {
                    self.is(accept.rule, Meaning::Rule(rule));
                }
                self.thing(accept.on);
            }
            StatementKind::Reading(reading) => self.reading(&reading.items),
            StatementKind::Unreadable => self.quantities(&statement.items, false),
        }
    }

    /// Notes the name of a thing, and says which thing it is.
    fn thing(&mut self, word: Word) -> Option<ThingId> {
        let id = *self.words.names.get(self.text(word))?;
        self.is(word, Meaning::Thing { id, declared: false });
        Some(id)
    }

    /// Notes the numbers that have units, and the units.
    fn quantities(&mut self, items: &Items, is_difference: bool) {
        for word in items.clone() {
            if self.kind_of(word) != TokenKind::Number {
                continue;
            }
            let own = word + 1;
            let shared = word + 3;
            let is_range = self.kind_of(own) == TokenKind::DotDot && self.kind_of(word + 2) == TokenKind::Number;
            let unit = if is_range { shared } else { own };
            if unit >= items.end || !self.kind_of(unit).is_word() {
                continue;
            }
            let quantity =
                units::find(self.text(unit)).and_then(|unit| drysheath_office::quantity(self.text(word), unit));
            let measured = quantity.map(|quantity| Measured {
                quantity,
                is_difference,
            });
            if let Some(measured) = measured {
                self.is(word, Meaning::Number(measured));
            }
            if let Some(found) = units::find(self.text(unit))
                && !is_range
            {
                self.is(unit, Meaning::Unit(found, measured));
            }
        }
    }
}
