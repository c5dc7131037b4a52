//! Reads what joins the ends of a run: what follows `with`.

use drysheath_engineering::units::Dimension;
use drysheath_syntax::{self as syntax, Fix, Medium, TokenKind, Tree};
use drysheath_text::TextRange;

use super::candidates::Candidate;
use super::end_problems::another_statement;
use super::ends::EndReader;
use super::reader::{Context, Read, Reader, VALUE};
use crate::kinds::Shape;
use crate::model::{Attributes, Spanned};
use crate::problem::{Problem, ProblemId};

impl EndReader<'_> {
    /// Reads the sizes and lengths that follow `with`.
    pub(super) fn attributes(
        &self,
        tree: &Tree,
        medium: Medium,
        written: &[syntax::Items],
        problems: &mut Vec<Problem>,
    ) -> Attributes {
        let mut attributes = Attributes::default();
        for items in written.iter().copied() {
            let range = tree.items_range(items);
            let mut reader = Reader::new(self.text, tree.items(items), range).noting(self.notes);
            let mut with = attributes;
            let read = self
                .attribute(medium, &mut reader, range, &mut with)
                .and_then(|()| match reader.rest() {
                    Some(rest) => Err(self.left_over(rest, &reader)),
                    None => Ok(()),
                });
            if read.is_ok() {
                attributes = with;
            }
            if let Err(problem) = read {
                reader.note_rest(Some(Shape::Fitting), "");
                attributes.damaged = true;
                problems.push(*problem);
            }
        }
        attributes
    }

    fn left_over(&self, rest: TextRange, reader: &Reader<'_>) -> Box<Problem> {
        if let Some(again) = reader.again() {
            return again;
        }
        if let Some(problem) = another_statement(self.text, reader) {
            return problem;
        }
        let written = rest.of(self.text);
        if reader.peek().is_some_and(|token| token.kind == TokenKind::Number) {
            let at = TextRange::empty(reader.last().end);
            let problem = Problem::new(VALUE, rest, format!("a comma is missing before `{written}`"));
            return Box::new(problem.fix(Fix::replace(at, ",", "Put a comma here")));
        }
        Box::new(
            Problem::new(VALUE, rest, format!("`{written}` means nothing here")).help("put a comma before what is new"),
        )
    }

    pub(super) fn attribute(
        &self,
        medium: Medium,
        reader: &mut Reader<'_>,
        range: TextRange,
        attributes: &mut Attributes,
    ) -> Read<()> {
        let subject = "with";
        let context = Context::of(subject);
        reader.candidate(Candidate::Attribute);
        if medium == Medium::Air && reader.word_is("adapter") {
            let value = reader.fitting(Context::of("adapter"))?;
            return once(&mut attributes.adapter, Spanned { value, range }, "adapter");
        }
        let (what, dimensions): (_, &[Dimension]) = match medium {
            Medium::Air => (
                "a tube such as `3/8 in tube`, its bore such as `1/4 in bore`, a length or an adapter",
                &[Dimension::Length],
            ),
            Medium::Wire | Medium::Ground => ("a wire size or a length", &[Dimension::WireSize, Dimension::Length]),
            Medium::Power => (
                "a fuse such as `1.5 A`, a wire size or a length",
                &[Dimension::WireSize, Dimension::Length, Dimension::Current],
            ),
        };
        let value = reader.any_quantity(what, dimensions, context)?;
        let spanned = Spanned { value, range };
        if (value.dimension(), medium) == (Dimension::Length, Medium::Air) {
            reader.candidate(Candidate::Word("tube"));
            reader.candidate(Candidate::Word("bore"));
        }
        match (value.dimension(), medium) {
            (Dimension::Length, Medium::Air) if reader.word_is("tube") => once(&mut attributes.tube, spanned, "tube"),
            (Dimension::Length, Medium::Air) if reader.word_is("bore") => once(&mut attributes.bore, spanned, "bore"),
            (Dimension::Length, _) => once(&mut attributes.length, spanned, "length"),
            (Dimension::WireSize, Medium::Wire | Medium::Power | Medium::Ground) => {
                once(&mut attributes.gauge, spanned, "wire size")
            }
            (Dimension::Current, Medium::Power) => once(&mut attributes.fuse, spanned, "fuse"),
            (other, _) => Err(Box::new(Problem::new(
                ProblemId::UnitWrongDimension,
                reader.read_range(0),
                format!(
                    "`with` in a run of {} wants {what}, and `{}` is a {}",
                    medium.word(),
                    reader.read_range(0).of(self.text),
                    other.name()
                ),
            ))),
        }
    }
}

fn once<T: Copy>(slot: &mut Option<Spanned<T>>, value: Spanned<T>, what: &str) -> Read<()> {
    if slot.is_some() {
        let message = format!("the {what} of this run is said twice");
        let problem = Problem::new(ProblemId::FieldTwice, value.range, message);
        return Err(Box::new(problem.help("keep one of them")));
    }
    *slot = Some(value);
    Ok(())
}
