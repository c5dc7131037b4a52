//! What could be written next. The readers that make the office of a text are given the tokens before a caret, and say what
//! they could have gone on with where it ends.

use drysheath_engineering::units::{Dimension, Unit};
use drysheath_syntax::{Medium, PairState, Token};
use drysheath_text::TextRange;

use super::ends::{EndReader, Position, ReadEnd};
use super::notes::Notes;
use super::reader::{Context, Reader};
use crate::kinds::{Choice, FieldSpec, Key, KindId, Port};
use crate::model::{Attributes, End, Office, ThingId};

/// Something that could be written next.
#[derive(Clone, Copy, Debug)]
pub enum Candidate {
    /// Any text in quotes.
    Text,
    /// Whole numbers, or one.
    Numbers,
    /// Numbers with the letters that are printed before them.
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
        /// Where the figure counts from.
        from: CountsFrom,
    },
    /// One of the words `yes` and `no`.
    YesNo,
    /// One of a few words.
    Choice(&'static [Choice]),
    /// The word for one of the four limits.
    Level,
    /// How grave an alarm is.
    Severity,
    /// How a joint is made.
    FittingType,
    /// Which half of a thread.
    Sex,
    /// One of the words `lan` and `dialled`.
    LinkKind,
    /// The name of a thing of a kind.
    OfKind(KindId),
    /// The name of a fact of the repository's own.
    RecordName,
    /// The path of a file.
    Path,
    /// Just this one word.
    Word(&'static str),
    /// The name of a thing.
    Thing,
    /// The name of a cable or an air pipe.
    Host,
    /// A position along a cable or an air pipe: a place of it by name, or a distance.
    Position(ThingId),
    /// The name of one of a thing's named fields.
    NameOf(ThingId, Key),
    /// The word for one of a thing's ports.
    Port,
    /// The number of a port.
    PortNumber(&'static Port),
    /// The colours of a pair.
    Colours,
    /// An arrow and another end, or what joins the ends.
    Onward,
    /// A size or a length.
    Attribute,
}

/// Where a pressure counts from, and with that which units it can have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CountsFrom {
    /// The surrounding air or vacuum, as its unit says.
    Either,
    /// Vacuum alone.
    Vacuum,
    /// Neither: it is a difference of two figures.
    Nothing,
}

impl CountsFrom {
    /// Whether a figure that counts from there can have `unit`.
    pub fn suits(self, unit: &Unit) -> bool {
        match self {
            Self::Either => true,
            Self::Vacuum => unit.absolute,
            Self::Nothing => !unit.absolute,
        }
    }
}

impl Office {
    /// What could follow `value` as the value of a field, and whether that is complete.
    pub fn candidates_in_value(&self, spec: &'static FieldSpec, value: &[Token]) -> (Vec<Candidate>, bool) {
        let notes = Notes::of_candidates(self);
        let mut reader = reader(&notes, value);
        // Of a figure that is being written, only where it counts from matters.
        let context = Context {
            domain: spec.domain().filter(|domain| domain.is_absolute()),
            ..Context::of(spec.word())
        };
        let read = reader.shape(spec.shape, context);
        let is_whole = read.is_ok() && reader.rest().is_none();
        (notes.into_candidates(), is_whole)
    }

    /// What could follow `tokens` as the last of `count` ends of a run, and the end as far as it is there.
    pub fn candidates_in_end(
        &self,
        medium: Medium,
        tokens: &[Token],
        at: usize,
        count: usize,
    ) -> (End, Vec<Candidate>) {
        let notes = Notes::of_candidates(self);
        let mut read = ReadEnd::new(TextRange::default());
        let position = Position::of(at, count);
        let ends = EndReader::new(self, Some(&notes));
        // Errors in an end that is being written do not matter here.
        let _ = ends.read(medium, &mut reader(&notes, tokens), position, &mut read);
        (read.end, notes.into_candidates())
    }

    /// What could follow `tokens` as one of the sizes and lengths after `with`.
    pub fn candidates_in_attribute(&self, medium: Medium, tokens: &[Token]) -> Vec<Candidate> {
        let notes = Notes::of_candidates(self);
        let mut reader = reader(&notes, tokens);
        let ends = EndReader::new(self, Some(&notes));
        let (mut attributes, mut adapters) = (Attributes::default(), Vec::new());
        let _ = ends.attribute(
            medium,
            &mut reader,
            TextRange::default(),
            &mut attributes,
            &mut adapters,
        );
        notes.into_candidates()
    }

    /// What could follow `tokens` after `spare`, and what they name.
    pub fn candidates_in_spare(&self, tokens: &[Token]) -> (End, Vec<Candidate>) {
        let notes = Notes::of_candidates(self);
        let mut read = ReadEnd::new(TextRange::default());
        let ends = EndReader::new(self, Some(&notes));
        let _ = ends.read_spare(&mut reader(&notes, tokens), &mut read);
        (read.end, notes.into_candidates())
    }

    /// What could follow `tokens` after `assigned` or `defective`, and what they name.
    pub fn candidates_in_stated(&self, state: PairState, tokens: &[Token]) -> (End, Vec<Candidate>) {
        let notes = Notes::of_candidates(self);
        let mut read = ReadEnd::new(TextRange::default());
        let ends = EndReader::new(self, Some(&notes));
        let _ = ends.read_stated(state, &mut reader(&notes, tokens), &mut read);
        (read.end, notes.into_candidates())
    }

    /// What could follow `tokens` after the day of a reading, and what they name.
    pub fn candidates_in_reading(&self, tokens: &[Token]) -> (End, Vec<Candidate>) {
        let notes = Notes::of_candidates(self);
        let mut read = ReadEnd::new(TextRange::default());
        let ends = EndReader::new(self, Some(&notes));
        let _ = ends.measured(&mut reader(&notes, tokens), &mut read);
        (read.end, notes.into_candidates())
    }
}

impl Office {
    /// What could follow `tokens` as one thing that happens.
    pub fn candidates_in_event(&self, tokens: &[Token]) -> Vec<Candidate> {
        let notes = Notes::of_candidates(self);
        let ends = EndReader::new(self, Some(&notes));
        let _ = ends.read_event(&mut reader(&notes, tokens));
        notes.into_candidates()
    }

    /// What could follow `tokens` as one thing that is expected.
    pub fn candidates_in_expectation(&self, tokens: &[Token]) -> Vec<Candidate> {
        let notes = Notes::of_candidates(self);
        let ends = EndReader::new(self, Some(&notes));
        let _ = ends.read_expectation(&mut reader(&notes, tokens), TextRange::default());
        notes.into_candidates()
    }
}

fn reader<'r>(notes: &'r Notes<'r>, tokens: &'r [Token]) -> Reader<'r> {
    Reader::new(&notes.office.text, tokens, TextRange::default(), notes.office.standard).noting(Some(notes))
}
