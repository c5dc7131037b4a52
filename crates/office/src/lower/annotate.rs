//! Lets a reader record the meaning of its tokens, and candidates for what could follow the last one.

use drysheath_engineering::units::Unit;
use drysheath_syntax::{Token, TokenKind};

use super::candidates::Candidate;
use super::quantities::quantity;
use super::reader::{Context, Reader};
use super::shapes::of_words;
use crate::kinds::{FieldSpec, Key, Port, Shape};
use crate::model::ThingId;
use crate::numbers::lettered;
use crate::semantics::{Figure, Meaning};
use crate::value::{Fields, FittingType, LimitLevel, LinkMedium, Severity, Sex};

impl Reader<'_> {
    /// Adds a candidate, if the reader is at the end of the tokens.
    pub(super) fn candidate(&self, candidate: Candidate) {
        if let Some(annotations) = self.annotations.filter(|_| self.at == self.tokens.len()) {
            annotations.candidate(candidate);
        }
    }

    /// Sets the meaning of the last token.
    pub(super) fn annotate(&self, meaning: Meaning) {
        if let Some(at) = self.at.checked_sub(1) {
            self.annotate_at(at, meaning);
        }
    }

    pub(super) fn annotate_at(&self, at: usize, meaning: Meaning) {
        if let (Some(annotations), Some(token)) = (self.annotations, self.tokens.get(at)) {
            annotations.set(token.range, meaning);
        }
    }

    /// Marks the last word as the name of a thing.
    pub(super) fn annotate_thing(&self) {
        if let Some(annotations) = self.annotations {
            annotations.set_thing(self.last());
        }
    }

    /// Marks the last word as the name of something inside the thing named before it.
    pub(super) fn annotate_inner(&self, key: Key, thing: &str) {
        if let Some(annotations) = self.annotations {
            self.annotate(Meaning::Named {
                thing: annotations.office.named(thing),
                key,
                declares: false,
                is_nested: false,
            });
        }
    }

    /// Marks the following numbers of a port.
    pub(super) fn annotate_numbers(&self, thing: Option<ThingId>, port: &'static Port) {
        let (Some(thing), Some(_)) = (thing, self.annotations) else {
            return;
        };
        let tokens = self.tokens.iter().enumerate().skip(self.at);
        let number = |token: &Token| {
            let written = token.range.of(self.text);
            let lettered = || lettered(written).filter(|_| port.has_letters());
            written.parse().ok().or_else(lettered)
        };
        for (at, token) in tokens {
            match number(token) {
                Some(number) => self.annotate_at(at, Meaning::Numbered { thing, port, number }),
                None if matches!(token.kind, TokenKind::Number | TokenKind::DotDot) => {}
                None => break,
            }
        }
    }

    /// Adds the names of things inside `thing` as candidates.
    pub(super) fn inner_candidate(&self, thing: &str, key: Key) {
        if let Some(id) = self.annotations.and_then(|annotations| annotations.office.named(thing)) {
            self.candidate(Candidate::NameOf(id, key));
        }
    }

    /// Adds positions along a cable or pipe as candidates.
    pub(super) fn position_candidate(&self, line: &str) {
        if let Some(id) = self.annotations.and_then(|annotations| annotations.office.named(line)) {
            self.candidate(Candidate::Position(id));
        }
    }

    /// Adds the word that precedes such a name as a candidate, if the thing has one.
    pub(super) fn inner_word_candidate(&self, thing: &str, key: Key) {
        let Some(office) = self.annotations.map(|annotations| annotations.office) else {
            return;
        };
        if office.named(thing).is_some_and(|id| office.thing(id).has(key)) {
            self.candidate(Candidate::Word(key.word()));
        }
    }

    /// Marks the last word as the name of a field.
    pub(super) fn annotate_field(&self, spec: &'static FieldSpec) {
        if let Some(annotations) = self.annotations {
            self.annotate(annotations.field(spec));
        }
    }

    /// Marks the last word as the declaration of something inside the statement's thing.
    pub(super) fn annotate_declared(&self, key: Key, is_nested: bool) {
        if let Some(annotations) = self.annotations {
            self.annotate(Meaning::Named {
                thing: annotations.thing.get(),
                key,
                declares: true,
                is_nested,
            });
        }
    }

    /// Marks the last word as one of the words of `shape`.
    pub(super) fn annotate_choice(&self, shape: Shape, context: Context<'_>) {
        if self.annotations.is_some() {
            let doc = doc_of(shape, self.last().of(self.text), context.doc);
            self.annotate(doc.map_or(Meaning::Nothing, Meaning::Choice));
        }
    }

    /// Marks a number and its unit, which may be shared with the other end of a range.
    pub(super) fn annotate_quantity(
        &self,
        number: usize,
        own_unit: Option<usize>,
        unit: &'static Unit,
        context: Context<'_>,
    ) {
        let written = self.tokens.get(number).filter(|_| self.annotations.is_some());
        let Some(written) = written else { return };
        let figure = quantity(written.range.of(self.text), unit).map(|quantity| Figure {
            quantity,
            is_difference: context.is_difference,
        });
        if let Some(figure) = figure {
            self.annotate_at(number, Meaning::Number(figure));
        }
        if let Some(at) = own_unit {
            self.annotate_at(at, Meaning::Unit(unit, figure));
        }
    }

    /// Marks the remaining tokens after a value could not be read. `yes_no` is the meaning of `yes` and `no`.
    pub(super) fn annotate_rest(&self, shape: Option<Shape>, yes_no: &'static str) {
        if self.annotations.is_none() {
            return;
        }
        let mut context = Context {
            is_difference: matches!(shape, Some(Shape::Difference)),
            ..Context::of("")
        };
        let mut rest = self.clone();
        while let Some(token) = rest.next() {
            let written = token.range.of(self.text);
            if token.kind == TokenKind::Number {
                let number = rest.at - 1;
                let mut ahead = rest.clone();
                let is_range = ahead.next_if(|kind| kind == TokenKind::DotDot).is_some()
                    && ahead.next_if(|kind| kind == TokenKind::Number).is_some();
                let unit = ahead.word().and_then(|(word, _)| rest.unit_called(word));
                if let Some(unit) = unit {
                    rest.annotate_quantity(number, (!is_range).then_some(number + 1), unit, context);
                }
            } else if let Some(shape) = shape.filter(|_| token.kind.is_word()) {
                if let Some(doc) = doc_of(shape, written, yes_no) {
                    rest.annotate(Meaning::Choice(doc));
                } else if matches!(written, "deadband" | "tube" | "bore") {
                    context.is_difference = written == "deadband";
                    rest.annotate(Meaning::Keyword);
                }
            }
        }
    }
}

/// The meaning of a word of a shape. `yes_no` is that of `yes` and `no`.
fn doc_of(shape: Shape, word: &str, yes_no: &'static str) -> Option<&'static str> {
    match shape {
        Shape::Choice(choices) => choices.iter().find(|choice| choice.word() == word).map(|it| it.doc()),
        Shape::YesNo => matches!(word, "yes" | "no").then_some(yes_no),
        Shape::Link => LinkMedium::find(word).map(LinkMedium::doc),
        Shape::Fitting => of_words(word)
            .map(FittingType::doc)
            .or_else(|| of_words(word).map(Sex::doc)),
        Shape::Limit(_) => of_words(word)
            .map(LimitLevel::doc)
            .or_else(|| of_words(word).map(Severity::doc)),
        _ => None,
    }
}
