//! What a reader notes of the tokens that it goes through: what each means, and what could follow the last.

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
    /// Notes what could be written here, at the end of the tokens.
    pub(super) fn candidate(&self, candidate: Candidate) {
        if let Some(notes) = self.notes.filter(|_| self.at == self.tokens.len()) {
            notes.candidate(candidate);
        }
    }

    /// Notes what the last token that was read means.
    pub(super) fn note(&self, meaning: Meaning) {
        if let Some(at) = self.at.checked_sub(1) {
            self.note_at(at, meaning);
        }
    }

    pub(super) fn note_at(&self, at: usize, meaning: Meaning) {
        if let (Some(notes), Some(token)) = (self.notes, self.tokens.get(at)) {
            notes.set(token.range, meaning);
        }
    }

    /// Notes that the last word that was read names a thing.
    pub(super) fn note_thing(&self) {
        if let Some(notes) = self.notes {
            notes.set_thing(self.last());
        }
    }

    /// Notes that the last word that was read names something inside the thing that was named before it.
    pub(super) fn note_inner(&self, key: Key, thing: &str) {
        if let Some(notes) = self.notes {
            self.note(Meaning::Named {
                thing: notes.office.named(thing),
                key,
                declares: false,
                is_nested: false,
            });
        }
    }

    /// Notes the numbers of a port that follow.
    pub(super) fn note_numbers(&self, thing: Option<ThingId>, port: &'static Port) {
        let (Some(thing), Some(_)) = (thing, self.notes) else {
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
                Some(number) => self.note_at(at, Meaning::Numbered { thing, port, number }),
                None if matches!(token.kind, TokenKind::Number | TokenKind::DotDot) => {}
                None => break,
            }
        }
    }

    /// Notes that the name of something inside a thing could be written here.
    pub(super) fn inner_candidate(&self, thing: &str, key: Key) {
        if let Some(id) = self.notes.and_then(|notes| notes.office.named(thing)) {
            self.candidate(Candidate::NameOf(id, key));
        }
    }

    /// Notes that a position along a cable or pipe could be written here.
    pub(super) fn position_candidate(&self, line: &str) {
        if let Some(id) = self.notes.and_then(|notes| notes.office.named(line)) {
            self.candidate(Candidate::Position(id));
        }
    }

    /// Notes that the word before such a name could be written here, where the thing has one.
    pub(super) fn inner_word_candidate(&self, thing: &str, key: Key) {
        let Some(office) = self.notes.map(|notes| notes.office) else {
            return;
        };
        if office.named(thing).is_some_and(|id| office.thing(id).has(key)) {
            self.candidate(Candidate::Word(key.word()));
        }
    }

    /// Notes that the last word that was read is the name of a field.
    pub(super) fn note_field(&self, spec: &'static FieldSpec) {
        if let Some(notes) = self.notes {
            self.note(notes.field(spec));
        }
    }

    /// Notes that the last word that was read declares something inside the statement's thing.
    pub(super) fn note_declared(&self, key: Key, is_nested: bool) {
        if let Some(notes) = self.notes {
            self.note(Meaning::Named {
                thing: notes.thing.get(),
                key,
                declares: true,
                is_nested,
            });
        }
    }

    /// Notes that the last word that was read is one of those that `shape` has.
    pub(super) fn note_choice(&self, shape: Shape, context: Context<'_>) {
        if self.notes.is_some() {
            let doc = doc_of(shape, self.last().of(self.text), context.doc);
            self.note(doc.map_or(Meaning::Nothing, Meaning::Choice));
        }
    }

    /// Notes a number, and the unit that it has for itself or shares with the other end of a range.
    pub(super) fn note_quantity(
        &self,
        number: usize,
        own_unit: Option<usize>,
        unit: &'static Unit,
        context: Context<'_>,
    ) {
        let written = self.tokens.get(number).filter(|_| self.notes.is_some());
        let Some(written) = written else { return };
        let figure = quantity(written.range.of(self.text), unit).map(|quantity| Figure {
            quantity,
            is_difference: context.is_difference,
        });
        if let Some(figure) = figure {
            self.note_at(number, Meaning::Number(figure));
        }
        if let Some(at) = own_unit {
            self.note_at(at, Meaning::Unit(unit, figure));
        }
    }

    /// Notes what is known of the remaining tokens where the reading of a value has failed. `yes_no` is what `yes` and
    /// `no` are about.
    pub(super) fn note_rest(&self, shape: Option<Shape>, yes_no: &'static str) {
        if self.notes.is_none() {
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
                    rest.note_quantity(number, (!is_range).then_some(number + 1), unit, context);
                }
            } else if let Some(shape) = shape.filter(|_| token.kind.is_word()) {
                if let Some(doc) = doc_of(shape, written, yes_no) {
                    rest.note(Meaning::Choice(doc));
                } else if matches!(written, "deadband" | "tube" | "bore") {
                    context.is_difference = written == "deadband";
                    rest.note(Meaning::Keyword);
                }
            }
        }
    }
}

/// What one of the words that a shape has means. `yes_no` is what `yes` and `no` are about.
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
