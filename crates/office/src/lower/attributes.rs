//! Reads what joins the ends of a run: what follows `with`.

use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_syntax::{self as syntax, Fix, Medium, TokenKind, Tree};
use drysheath_text::TextRange;

use super::candidates::Candidate;
use super::end_problems::another_statement;
use super::ends::EndReader;
use super::reader::{Context, Read, Reader, VALUE};
use crate::kinds::{Domain, Shape, domain};
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
        if let (Some(tube), Some(bore)) = (attributes.tube, attributes.bore)
            && let Some(problem) = bore_beyond_tube(self.text, tube, bore)
        {
            attributes.bore = None;
            attributes.damaged = true;
            problems.push(problem);
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
            let value = reader.fitting(Context {
                domain: Some(&domain::FITTING),
                ..Context::of("adapter")
            })?;
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
        let quantity = reader.read_range(0);
        let (slot, what, domain): (_, _, &'static Domain) = match (value.dimension(), medium) {
            (Dimension::Length, Medium::Air) if reader.word_is("tube") => (&mut attributes.tube, "tube", &domain::TUBE),
            (Dimension::Length, Medium::Air) if reader.word_is("bore") => {
                (&mut attributes.bore, "bore", &domain::TUBE_BORE)
            }
            (Dimension::Length, Medium::Air | Medium::Wire) => {
                (&mut attributes.length, "length", &domain::JUMPER_LENGTH)
            }
            (Dimension::Length, Medium::Power) => (&mut attributes.length, "length", &domain::FEED_LENGTH),
            (Dimension::Length, Medium::Ground) => (&mut attributes.length, "length", &domain::GROUND_LENGTH),
            (Dimension::WireSize, Medium::Wire) => (&mut attributes.gauge, "wire size", &domain::PAIR_SIZE),
            (Dimension::WireSize, Medium::Power | Medium::Ground) => {
                (&mut attributes.gauge, "wire size", &domain::CONDUCTOR)
            }
            (Dimension::Current, Medium::Power) => (&mut attributes.fuse, "fuse", &domain::FUSE),
            (other, _) => {
                return Err(Box::new(Problem::new(
                    ProblemId::UnitWrongDimension,
                    reader.read_range(0),
                    format!(
                        "`with` in a run of {} wants {what}, and `{}` is a {}",
                        medium.word(),
                        reader.read_range(0).of(self.text),
                        other.name()
                    ),
                )));
            }
        };
        once(slot, spanned, what)?;
        let context = Context {
            domain: Some(domain),
            ..Context::of(what)
        };
        reader.plausible(value, quantity, context)
    }
}

/// What is wrong with a bore that its tube cannot have: either figure may be the wrong one.
fn bore_beyond_tube(text: &str, tube: Spanned<Quantity>, bore: Spanned<Quantity>) -> Option<Problem> {
    /// A tube has a wall: the thinnest of copper or plastic take a twentieth of it away (common practice, no source).
    const WIDEST: f64 = 0.97;
    /// Even tube for high pressure is bored to a third of its outside (common practice, no source).
    const NARROWEST: f64 = 0.3;
    let ratio = bore.value.si() / tube.value.si();
    if (NARROWEST..=WIDEST).contains(&ratio) {
        return None;
    }
    let inside = |ratio: f64| {
        let outside = tube.value.in_unit(bore.value.unit);
        let value = outside.value * ratio;
        Quantity { value, ..outside }.to_digits(2)
    };
    let message = format!(
        "`bore` of this tube expects {} to less than {}; found `{}`",
        inside(NARROWEST),
        tube.value.in_unit(bore.value.unit).to_digits(3),
        bore.range.of(text)
    );
    let problem = Problem::new(ProblemId::ValueImplausible, bore.range, message);
    Some(problem.help(if ratio > WIDEST {
        "the tube is measured by its outside and the bore by its inside: look both up"
    } else {
        "check the decimal point and the unit of both"
    }))
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
