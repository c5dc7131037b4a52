//! Completion candidates. The same readers that build the office are given the tokens before the caret, and report what
//! could continue them.

use drysheath_engineering::units::{Dimension, Unit};
use drysheath_syntax::{Medium, PairState, Token};
use drysheath_text::TextRange;

use super::annotations::Annotations;
use super::ends::{EndReader, Position, ReadEnd};
use super::reader::{Context, Reader};
use crate::kinds::{Choice, FieldSpec, Key, KindId, Port};
use crate::model::{Attributes, End, Office, ThingId};

/// Something that could be written next.
#[derive(Clone, Copy, Debug)]
pub enum Candidate {
    /// Any text in quotes.
    Text,
    /// A whole number or a range of them.
    Numbers,
    /// Numbers with printed letters.
    Lettered,
    /// `..` and the other end of a range.
    Dots,
    /// The last number of a range.
    LastNumber {
        /// The first number of the range.
        from: u32,
    },
    /// A unit of one dimension.
    Unit {
        /// The dimension that the unit has to have.
        dimension: Dimension,
        /// The reference of the figure.
        from: CountsFrom,
    },
    /// One of the words `yes` and `no`.
    YesNo,
    /// One of these words.
    Choice(&'static [Choice]),
    /// One of the words for limit levels.
    Level,
    /// One of the words for alarm severities.
    Severity,
    /// One of the words for fitting types.
    FittingType,
    /// `male` or `female`.
    Sex,
    /// One of the words `lan` and `dialled`.
    LinkKind,
    /// The name of a thing of this kind.
    OfKind(KindId),
    /// The name of one of the repository's own facts.
    RecordName,
    /// The path of a file.
    Path,
    /// Exactly this word.
    Word(&'static str),
    /// The name of a thing.
    Thing,
    /// The name of a cable or an air pipe.
    Host,
    /// A position along a cable or air pipe: a named place, or a distance.
    Position(ThingId),
    /// The name of one of a thing's named fields.
    NameOf(ThingId, Key),
    /// The name of a section of one of a cable's branches, by the number of the branch.
    SectionOf(ThingId, usize),
    /// The word for one of a thing's ports.
    Port,
    /// The number of a port.
    PortNumber(&'static Port),
    /// The colours of a pair.
    Colours,
    /// An arrow and another end, or attributes.
    Onward,
    /// A size or a length.
    Attribute,
}

/// The reference of a pressure, which determines its units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CountsFrom {
    /// Ambient pressure or vacuum, as the unit tells.
    Either,
    /// Only units of absolute pressure, such as `psia`.
    Vacuum,
    /// None: it is a difference.
    Nothing,
}

impl CountsFrom {
    /// Whether `unit` fits the reference.
    pub fn suits(self, unit: &Unit) -> bool {
        match self {
            Self::Either => true,
            Self::Vacuum => unit.absolute,
            Self::Nothing => !unit.absolute,
        }
    }
}

impl Office {
    /// Candidates after `value` in a field, and whether `value` is complete.
    pub fn candidates_in_value(&self, spec: &'static FieldSpec, value: &[Token]) -> (Vec<Candidate>, bool) {
        let annotations = Annotations::of_candidates(self);
        let mut reader = reader(&annotations, value);
        // Only the reference matters for a figure that is still being written.
        let context = Context {
            domain: spec.domain().filter(|domain| domain.is_absolute()),
            ..Context::of(spec.word())
        };
        let read = reader.shape(spec.shape, context);
        let is_whole = read.is_ok() && reader.rest().is_none();
        (annotations.into_candidates(), is_whole)
    }

    /// Candidates after `tokens` in end number `at` of `count` in a run, and the end as far as read.
    pub fn candidates_in_end(
        &self,
        medium: Medium,
        tokens: &[Token],
        at: usize,
        count: usize,
    ) -> (End, Vec<Candidate>) {
        let annotations = Annotations::of_candidates(self);
        let mut read = ReadEnd::new(TextRange::default());
        let position = Position::of(at, count);
        let ends = EndReader::new(self, Some(&annotations));
        // Errors in an unfinished end do not matter.
        let _ = ends.read(medium, &mut reader(&annotations, tokens), position, &mut read);
        (read.end, annotations.into_candidates())
    }

    /// Candidates after `tokens` in an attribute that follows `with`.
    pub fn candidates_in_attribute(&self, medium: Medium, tokens: &[Token]) -> Vec<Candidate> {
        let annotations = Annotations::of_candidates(self);
        let mut reader = reader(&annotations, tokens);
        let ends = EndReader::new(self, Some(&annotations));
        let (mut attributes, mut adapters) = (Attributes::default(), Vec::new());
        let _ = ends.attribute(
            medium,
            &mut reader,
            TextRange::default(),
            &mut attributes,
            &mut adapters,
        );
        annotations.into_candidates()
    }

    /// Candidates after `tokens` in a `spare` statement, and the end as far as read.
    pub fn candidates_in_spare(&self, tokens: &[Token]) -> (End, Vec<Candidate>) {
        let annotations = Annotations::of_candidates(self);
        let mut read = ReadEnd::new(TextRange::default());
        let ends = EndReader::new(self, Some(&annotations));
        let _ = ends.read_spare(&mut reader(&annotations, tokens), &mut read);
        (read.end, annotations.into_candidates())
    }

    /// Candidates after `tokens` in an `assigned` or `defective` statement, and the end as far as read.
    pub fn candidates_in_stated(&self, state: PairState, tokens: &[Token]) -> (End, Vec<Candidate>) {
        let annotations = Annotations::of_candidates(self);
        let mut read = ReadEnd::new(TextRange::default());
        let ends = EndReader::new(self, Some(&annotations));
        let _ = ends.read_stated(state, &mut reader(&annotations, tokens), &mut read);
        (read.end, annotations.into_candidates())
    }

    /// Candidates after `tokens`, which follow the date of a reading, and the end as far as read.
    pub fn candidates_in_reading(&self, tokens: &[Token]) -> (End, Vec<Candidate>) {
        let annotations = Annotations::of_candidates(self);
        let mut read = ReadEnd::new(TextRange::default());
        let ends = EndReader::new(self, Some(&annotations));
        let _ = ends.measured(&mut reader(&annotations, tokens), &mut read);
        (read.end, annotations.into_candidates())
    }
}

impl Office {
    /// Candidates after `tokens` in an event.
    pub fn candidates_in_event(&self, tokens: &[Token]) -> Vec<Candidate> {
        let annotations = Annotations::of_candidates(self);
        let ends = EndReader::new(self, Some(&annotations));
        let _ = ends.read_event(&mut reader(&annotations, tokens));
        annotations.into_candidates()
    }

    /// Candidates after `tokens` in an expectation.
    pub fn candidates_in_expectation(&self, tokens: &[Token]) -> Vec<Candidate> {
        let annotations = Annotations::of_candidates(self);
        let ends = EndReader::new(self, Some(&annotations));
        let _ = ends.read_expectation(&mut reader(&annotations, tokens), TextRange::default());
        annotations.into_candidates()
    }
}

fn reader<'r>(annotations: &'r Annotations<'r>, tokens: &'r [Token]) -> Reader<'r> {
    Reader::new(
        &annotations.office.text,
        tokens,
        TextRange::default(),
        annotations.office.standard,
    )
    .annotating(Some(annotations))
}
