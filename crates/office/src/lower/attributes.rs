//! Reads the attributes of a run, which follow `with`.

use drysheath_engineering::units::{self, Dimension, Quantity};
use drysheath_syntax::{self as syntax, Fix, Medium, TokenKind, Tree};
use drysheath_text::TextRange;

use super::candidates::Candidate;
use super::end_problems::another_statement;
use super::ends::{EndReader, ReadEnd};
use super::reader::{Context, Read, Reader, VALUE};
use crate::kinds::{Domain, Shape, domain};
use crate::model::{Adapter, Attributes, Spanned};
use crate::problem::{Problem, ProblemId};
use crate::spelling::with_article;

impl EndReader<'_> {
    /// Reads the sizes and lengths that follow `with`.
    pub(super) fn attributes(
        &self,
        tree: &Tree,
        medium: Medium,
        written: &[syntax::TokenSpan],
        adapters: &mut Vec<Adapter>,
        problems: &mut Vec<Problem>,
    ) -> Attributes {
        let mut attributes = Attributes::default();
        let before = problems.len();
        for items in written.iter().copied() {
            let range = tree.items_range(items);
            let mut reader =
                Reader::new(self.text, tree.items(items), range, self.office.standard).annotating(self.annotations);
            let mut with = attributes;
            let read = self
                .attribute(medium, &mut reader, range, &mut with, adapters)
                .and_then(|()| match reader.rest() {
                    Some(rest) => Err(self.left_over(rest, &reader, &with)),
                    None => Ok(()),
                });
            if read.is_ok() {
                attributes = with;
            }
            if let Err(problem) = read {
                reader.annotate_rest(Some(Shape::Fitting), "");
                attributes.damaged = true;
                // If one size is given twice, the others may be as well: `then` is missing before all of them.
                let is_twice = |problem: &Problem| problem.id == ProblemId::FieldTwice;
                if !(is_twice(&problem) && problems.iter().skip(before).any(is_twice)) {
                    problems.push(*problem);
                }
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

    /// Reads the attributes after each `then`: those of the further pieces of a run.
    pub(super) fn further_pieces(
        &self,
        tree: &Tree,
        run: &syntax::Run,
        adapters: &mut Vec<Adapter>,
        problems: &mut Vec<Problem>,
    ) -> Vec<Attributes> {
        if let (Some(range), true) = (first_then(tree, run), run.ends.len() > 2) {
            let message = format!(
                "`then` joins two pieces of a run from one end to another, and this run has {} ends",
                run.ends.len()
            );
            let help = "write a run of its own for the part that consists of several pieces";
            problems.push(Problem::new(VALUE, range, message).help(help));
        }
        let mut pieces = Vec::with_capacity(run.then.len());
        for written in &run.then {
            let mut piece = self.attributes(tree, run.medium, written, adapters, problems);
            if let Some(fuse) = piece.fuse.take() {
                piece.damaged = true;
                let message = "a fuse protects all pieces of its run, and this one is in the middle of them";
                let help = "write the fuse before the first `then`; a fuse elsewhere is that of a panel of its own";
                problems.push(Problem::new(VALUE, fuse.range, message).help(help));
            }
            pieces.push(piece);
        }
        pieces
    }

    /// The problem with the tokens after a size or length. `before` are the attributes read so far.
    fn left_over(&self, rest: TextRange, reader: &Reader<'_>, before: &Attributes) -> Box<Problem> {
        if let Some(again) = reader.again() {
            return again;
        }
        if let Some(problem) = another_statement(self.text, reader) {
            return problem;
        }
        let written = rest.of(self.text);
        if reader.peek().is_some_and(|token| token.kind == TokenKind::Number) {
            let at = TextRange::empty(reader.last().end);
            if is_said(self.text, reader, before) {
                let problem = Problem::new(VALUE, rest, format!("`then` is missing before `{written}`"));
                let help = "the piece before it says that already, so that another piece begins here";
                return Box::new(problem.help(help).fix(Fix::replace(at, " then", "Insert `then`")));
            }
            let problem = Problem::new(VALUE, rest, format!("a comma is missing before `{written}`"));
            return Box::new(problem.fix(Fix::replace(at, ",", "Insert a comma")));
        }
        Box::new(
            Problem::new(
                VALUE,
                rest,
                format!("unexpected `{written}` after `{}`", reader.last().of(self.text)),
            )
            .help("write a comma before each further size or length"),
        )
    }

    /// A word that people write after a size but that the language omits or replaces.
    fn surplus_word(&self, rest: TextRange, reader: &Reader<'_>) -> Option<Box<Problem>> {
        let written = rest.of(self.text);
        let word = written.trim_end_matches('.').to_ascii_lowercase();
        let (help, instead) = match word.as_str() {
            "fuse" | "breaker" => ("the current alone says the fuse: delete the word", ""),
            "long" | "length" => ("a length alone is the length of the run: delete the word", ""),
            "od" | "tubing" | "hose" => ("the outside diameter is written `3/8 in tube`", "tube"),
            "id" => ("the inside diameter is written `1/4 in bore`", "bore"),
            "wire" | "copper" | "cu" | "conductor" => ("the size alone says the wire: delete the word", ""),
            _ => return None,
        };
        let last = reader.last();
        let problem = Problem::new(
            VALUE,
            rest,
            format!("unexpected `{written}` after `{}`", last.of(self.text)),
        );
        let (range, title) = if instead.is_empty() {
            (TextRange::new(last.end, rest.end), format!("Delete `{written}`"))
        } else {
            (rest, format!("Write `{instead}`"))
        };
        Some(Box::new(problem.help(help).fix(Fix::replace(range, instead, title))))
    }

    pub(super) fn attribute(
        &self,
        medium: Medium,
        reader: &mut Reader<'_>,
        range: TextRange,
        attributes: &mut Attributes,
        adapters: &mut Vec<Adapter>,
    ) -> Read<()> {
        let subject = "with";
        let context = Context::of(subject);
        reader.candidate(Candidate::Attribute);
        if medium == Medium::Air && reader.word_is("adapter") {
            let adapter = self.adapter(reader, range)?;
            return one_at_an_end(adapters, adapter);
        }
        if medium == Medium::Air && reader.word_is("reducer") {
            if attributes.reducer.is_some() {
                let problem = Problem::new(ProblemId::FieldTwice, range, "the reducer of this piece is given twice");
                return Err(Box::new(problem.help("keep one of them")));
            }
            attributes.reducer = Some(range);
            return Ok(());
        }
        let is_limit = medium == Medium::Power && reader.word_is("limit");
        let (what, dimensions): (_, &[Dimension]) = match medium {
            Medium::Air => (
                "a tube such as `3/8 in tube`, its bore such as `1/4 in bore`, a length or an adapter",
                &[Dimension::Length],
            ),
            Medium::Power if is_limit => ("a current such as `limit 5 A`", &[Dimension::Current]),
            Medium::Wire | Medium::Ground => ("a wire size or a length", &[Dimension::WireSize, Dimension::Length]),
            Medium::Power => (
                "a fuse such as `1.5 A`, a wire size or a length",
                &[Dimension::WireSize, Dimension::Length, Dimension::Current],
            ),
        };
        if medium == Medium::Power
            && reader.peek_text() == "fuse"
            && let Some(word) = reader.peek()
            && let Some(number) = reader.tokens.get(reader.at + 1)
        {
            let problem = Problem::new(VALUE, word.range, "unexpected `fuse` before its current");
            return Err(Box::new(
                problem
                    .help("the current alone says the fuse: delete the word")
                    .fix(Fix::replace(
                        TextRange::new(word.range.start, number.range.start),
                        "",
                        "Delete `fuse`",
                    )),
            ));
        }
        let value = reader.any_quantity(what, dimensions, context)?;
        let spanned = Spanned { value, range };
        if (value.dimension(), medium) == (Dimension::Length, Medium::Air) {
            reader.candidate(Candidate::Word("tube"));
            reader.candidate(Candidate::Word("bore"));
        }
        // An unmarked diameter would be read as an implausible length.
        if let Some(problem) = reader.rest().and_then(|rest| self.surplus_word(rest, reader)) {
            return Err(problem);
        }
        let quantity = reader.read_range(0);
        let (slot, what, domain): (_, _, &'static Domain) = match (value.dimension(), medium) {
            (Dimension::Current, _) if is_limit => (&mut attributes.limit, "limit", &domain::FUSE),
            (other, _) if is_limit => return Err(self.not_with(medium, reader, what, other)),
            (Dimension::Length, Medium::Air) if reader.word_is("tube") => (&mut attributes.tube, "tube", &domain::TUBE),
            (Dimension::Length, Medium::Air) if reader.word_is("bore") => {
                (&mut attributes.bore, "bore", &domain::TUBE_BORE)
            }
            (Dimension::Length, Medium::Air) => (&mut attributes.length, "length", &domain::TUBE_LENGTH),
            (Dimension::Length, Medium::Wire) => (&mut attributes.length, "length", &domain::JUMPER_LENGTH),
            (Dimension::Length, Medium::Power) => (&mut attributes.length, "length", &domain::FEED_LENGTH),
            (Dimension::Length, Medium::Ground) => (&mut attributes.length, "length", &domain::GROUND_LENGTH),
            (Dimension::WireSize, Medium::Wire) => (&mut attributes.gauge, "wire size", &domain::PAIR_SIZE),
            (Dimension::WireSize, Medium::Power | Medium::Ground) => {
                (&mut attributes.gauge, "wire size", &domain::CONDUCTOR)
            }
            (Dimension::Current, Medium::Power) => (&mut attributes.fuse, "fuse", &domain::FUSE),
            (other, _) => return Err(self.not_with(medium, reader, what, other)),
        };
        once(slot, spanned, what)?;
        let context = Context {
            domain: Some(domain),
            ..Context::of(what)
        };
        reader.plausible(value, quantity, context)
    }

    /// Reads `1/4 in npt female at p1`, after `adapter`.
    fn adapter(&self, reader: &mut Reader<'_>, range: TextRange) -> Read<Adapter> {
        let start = reader.at;
        let value = reader.fitting(Context {
            domain: Some(&domain::FITTING),
            ..Context::of("adapter")
        })?;
        let fitting = Spanned {
            value,
            range: reader.read_range(start),
        };
        let mut at = None;
        if reader.candidate_word("at") {
            let mut end = ReadEnd::new(range);
            self.thing(reader, &mut end)?;
            if let Some(problem) = end.problem {
                return Err(problem);
            }
            at = end.end.thing;
        }
        Ok(Adapter { fitting, at, range })
    }

    /// The problem of a quantity that does not apply to such a run.
    fn not_with(&self, medium: Medium, reader: &Reader<'_>, what: &str, found: Dimension) -> Box<Problem> {
        let range = reader.read_range(0);
        let message = format!(
            "`with` in {} run expects {what}, found `{}`, a {}",
            with_article(medium.word()),
            range.of(self.text),
            found.name()
        );
        Box::new(Problem::new(ProblemId::UnitWrongDimension, range, message))
    }
}

/// The problem of a bore that is impossible for its tube: either figure may be wrong.
fn bore_beyond_tube(text: &str, tube: Spanned<Quantity>, bore: Spanned<Quantity>) -> Option<Problem> {
    /// A tube has a wall: the thinnest of copper or plastic take a twentieth of it away (common practice, no source).
    const WIDEST: f64 = 0.97;
    /// Even hose with a thick wall is open to two fifths of its outside (common practice, no source).
    const NARROWEST: f64 = 0.35;
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

/// Whether the next number is an attribute that the piece already states.
fn is_said(text: &str, reader: &Reader<'_>, before: &Attributes) -> bool {
    let mut words = reader
        .tokens
        .iter()
        .skip(reader.at + 1)
        .map(|token| token.range.of(text));
    let unit = words.next().and_then(units::find);
    match (unit.map(|unit| unit.dimension), words.next()) {
        (Some(Dimension::WireSize), _) => before.gauge.is_some(),
        (Some(Dimension::Length), Some("tube")) => before.tube.is_some(),
        (Some(Dimension::Length), Some("bore")) => before.bore.is_some(),
        (Some(Dimension::Length), _) => before.length.is_some(),
        _ => false,
    }
}

/// The first `then` of a run.
fn first_then(tree: &Tree, run: &syntax::Run) -> Option<TextRange> {
    tree.range_before(*run.then.first()?.first()?)
}

/// Adds an adapter. There may be one at each end, or a single one that names no end.
fn one_at_an_end(adapters: &mut Vec<Adapter>, adapter: Adapter) -> Read<()> {
    // An adapter at a thing that could not be read is at neither of the other ends.
    let says_end = adapter.fitting.range.end < adapter.range.end;
    if says_end && adapter.at.is_none() {
        return Ok(());
    }
    let is_same = |other: &&Adapter| other.at == adapter.at || other.at.is_none() || adapter.at.is_none();
    if let Some(other) = adapters.iter().find(is_same) {
        let (message, help) = if other.at == adapter.at && adapter.at.is_some() {
            ("the adapter at this end is given twice", "keep one of them")
        } else {
            (
                "of several adapters each says at which end it is",
                "write the end after each, as in `adapter 1/4 in npt female at p1`",
            )
        };
        let problem = Problem::new(ProblemId::FieldTwice, adapter.range, message);
        return Err(Box::new(problem.help(help)));
    }
    adapters.push(adapter);
    Ok(())
}

fn once<T: Copy>(slot: &mut Option<Spanned<T>>, value: Spanned<T>, what: &str) -> Read<()> {
    if slot.is_some() {
        let message = format!("the {what} of this run is given twice");
        let problem = Problem::new(ProblemId::FieldTwice, value.range, message);
        return Err(Box::new(
            problem.help("keep one of them; what another piece of the run is follows `then`"),
        ));
    }
    *slot = Some(value);
    Ok(())
}
