//! Reads field values by their syntax.

use drysheath_engineering::colour::two_colours;
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_syntax::{Fix, Token, TokenKind};
use drysheath_text::TextRange;
use strum::VariantArray;

use super::candidates::Candidate;
use super::reader::{Context, Read, Reader, VALUE, Wanted};
use crate::kinds::domain;
use crate::kinds::{Choice, DewPointSurface, Domain, Key, KindId, Shape, field};
use crate::numbers::{in_row, in_row_of, is_one_row, lettered, numbers_written, printed};
use crate::parts::DOT_EXTENSION;
use crate::problem::{Problem, ProblemId};
use crate::semantics::Meaning;
use crate::spelling::nearest;
use crate::value::{
    Fitting, FittingType, Limit, LimitLevel, LinkMedium, Loss, Recorded, Severity, Sex, StatedPosition, ThingReference,
    Value,
};

/// Whether a word is a catalogue's term for a deadband.
pub(super) fn is_deadband_elsewhere(word: &str) -> bool {
    matches!(
        word.to_ascii_lowercase().as_str(),
        "differential" | "hysteresis" | "dead-band" | "reset-differential" | "reset-band"
    )
}

/// 0 °C in kelvins.
const FREEZING: f64 = 273.15;

impl Reader<'_> {
    /// Reads a value with the syntax of `shape`. Named fields and groups have no value but their block.
    pub(super) fn shape(&mut self, shape: Shape, context: Context<'_>) -> Read<Value> {
        match shape {
            Shape::Text => self.text(shape, context).map(|text| Value::Text(text.into())),
            Shape::YesNo => self.yes_no(shape, context).map(Value::YesNo),
            Shape::Count(most) => self.count(most, context, Wanted::Shape(shape)).map(Value::Count),
            Shape::Numbers(most) => self
                .numbers(most, false, context, Wanted::Shape(shape))
                .map(|(from, to)| Value::Numbers(from, to)),
            Shape::Rows(most) => self
                .numbers(most, true, context, Wanted::Shape(shape))
                .map(|(from, to)| Value::Numbers(from, to)),
            Shape::CountOrRows(most) => self.count_or_row(most, shape, context),
            Shape::Quantity(dimension) => self.quantity(dimension, shape, context).map(Value::Quantity),
            Shape::Draw => self.draw(context).map(Value::Quantity),
            Shape::Difference => self.difference(shape, context).map(Value::Quantity),
            Shape::DewPoint => self.dew_point(shape, context),
            Shape::Range(dimension) => self
                .range(dimension, shape, context)
                .map(|(from, to)| Value::Range(from, to)),
            Shape::Choice(choices) => self.choice(choices, shape, context).map(Value::Choice),
            Shape::Limit(dimension) => self
                .limit(dimension, shape, context)
                .map(|limit| Value::Limit(Box::new(limit))),
            Shape::Loss => self.loss(context).map(Value::Loss),
            Shape::At => self.place(shape, context).map(|at| Value::At(Box::new(at))),
            Shape::Fitting => self.fitting(context).map(Value::Fitting),
            Shape::Link => self.link(shape, context),
            Shape::Record => self
                .record(shape, context)
                .map(|recorded| Value::Record(Box::new(recorded))),
            Shape::FormerName => self.former_name(shape, context).map(Value::FormerName),
            Shape::Path => self.path(shape, context).map(Value::Path),
            Shape::Thing(kind) => self
                .other(kind, shape, context)
                .map(|other| Value::Thing(Box::new(other))),
            Shape::PairColours(most) => self.pair_colours(most, shape, context),
            Shape::Group(_) | Shape::Named(_) => Err(self.wanted(context, Wanted::Shape(shape))),
        }
    }

    pub(super) fn yes_no(&mut self, shape: Shape, context: Context<'_>) -> Read<bool> {
        self.candidate(Candidate::YesNo);
        let yes = match self.peek_text() {
            "yes" => true,
            "no" => false,
            _ => return Err(self.wanted_word(context, Wanted::Shape(shape), ["yes", "no"])),
        };
        self.at += 1;
        self.annotate_choice(shape, context);
        Ok(yes)
    }

    pub(super) fn text(&mut self, shape: Shape, context: Context<'_>) -> Read<String> {
        let text = self.any_text(shape, context)?;
        if text.trim().is_empty() {
            let message = format!("the text of `{}` is empty", context.subject);
            let help = "write between the quotes what people should read there, or leave it out";
            return Err(Box::new(Problem::new(VALUE, self.last(), message).help(help)));
        }
        Ok(text)
    }

    /// Reads a text, which may be empty.
    fn any_text(&mut self, shape: Shape, context: Context<'_>) -> Read<String> {
        self.candidate(Candidate::Text);
        let text = self.next_if(|kind| matches!(kind, TokenKind::Text | TokenKind::OpenText));
        match text {
            Some((written, _)) => Ok(unquoted(written)),
            None => Err(self.wanted(context, Wanted::Shape(shape))),
        }
    }

    pub(super) fn count(&mut self, most: u32, context: Context<'_>, what: Wanted) -> Read<u32> {
        let count = self
            .peek()
            .filter(|token| token.kind == TokenKind::Number)
            .and_then(|_| self.peek_text().parse().ok());
        match count {
            Some(count) if (1..=most).contains(&count) => {
                self.at += 1;
                Ok(count)
            }
            _ => Err(self.wanted(context, what)),
        }
    }

    /// Reads a power or a current.
    fn draw(&mut self, context: Context<'_>) -> Read<Quantity> {
        self.either(Dimension::Power, (Dimension::Current, &domain::DRAWN_CURRENT), context)
    }

    /// A quantity of one dimension, or of another with a domain of its own.
    pub(super) fn either(
        &mut self,
        usual: Dimension,
        (other, domain): (Dimension, &'static Domain),
        context: Context<'_>,
    ) -> Read<Quantity> {
        // A number alone: either unit may follow.
        let mut after = self.clone();
        if after.next_if(|kind| kind == TokenKind::Number).is_some() {
            after.unit_candidate(other, context);
        }
        let written = self.ahead().any_quantity("", &[], Context::of(""));
        if written.is_ok_and(|written| written.dimension() == other) {
            let context = Context {
                domain: Some(domain),
                ..context
            };
            return self.quantity(other, Shape::Quantity(other), context);
        }
        self.quantity(usual, Shape::Quantity(usual), context)
    }

    /// Reads the number of a pair and its colours.
    fn pair_colours(&mut self, most: u32, shape: Shape, context: Context<'_>) -> Read<Value> {
        const COLOURS: &str = "two colours after the number, tip and ring, such as `black-red`";
        self.candidate(Candidate::Numbers);
        let pair = self.count(most, context, Wanted::Shape(shape))?;
        let written = self.peek().filter(|token| token.kind.is_word());
        let colours = written.and_then(|token| two_colours(token.range.of(self.text)));
        let Some(colours) = colours else {
            return Err(self.wanted(context, Wanted::Words(COLOURS)));
        };
        self.at += 1;
        self.annotate(Meaning::Choice("Colours of tip and ring."));
        Ok(Value::PairColours(pair, colours))
    }

    /// Reads a count, or a row of numbers.
    fn count_or_row(&mut self, most: u32, shape: Shape, context: Context<'_>) -> Read<Value> {
        let start = self.at;
        let (from, to) = self.numbers(most, true, context, Wanted::Shape(shape))?;
        let is_count = self.at == start + 1 && in_row(from) == from;
        Ok(if is_count {
            Value::Count(from)
        } else {
            Value::Numbers(from, to)
        })
    }

    /// Reads a number as printed, with letters before it if `has_letters`.
    fn printed_number(&mut self, most: u32, has_letters: bool, context: Context<'_>, what: Wanted) -> Read<u32> {
        let lettered = self.lettered().filter(|number| has_letters && in_row(*number) <= most);
        match lettered {
            Some(number) => {
                self.at += 1;
                Ok(number)
            }
            None => match self.letters_apart().filter(|_| has_letters) {
                Some(problem) => Err(problem),
                None => self.count(most, context, what),
            },
        }
    }

    /// The problem of `A-3` or `A 3`: letters separated from their number.
    fn letters_apart(&self) -> Option<Box<Problem>> {
        let word = self.peek().filter(|token| token.kind == TokenKind::Word)?;
        let letters = word.range.of(self.text);
        let (range, better) = match letters.split_once('-') {
            Some((letters, number)) => (word.range, format!("{letters}{number}")),
            None => {
                let number = self.tokens.get(self.at + 1)?.range;
                (word.range.cover(number), format!("{letters}{}", number.of(self.text)))
            }
        };
        lettered(&better)?;
        let message = format!(
            "the letters of `{}` are written together with its number",
            range.of(self.text)
        );
        Some(Box::new(Problem::new(VALUE, range, message).meant(&better)))
    }

    /// The next token, if it is a number with letters.
    pub(super) fn lettered(&self) -> Option<u32> {
        self.peek().filter(|token| token.kind == TokenKind::Word)?;
        lettered(self.peek_text())
    }

    /// Reads a range of numbers, or a single one. `has_letters` allows printed letters before them.
    pub(super) fn numbers(
        &mut self,
        most: u32,
        has_letters: bool,
        context: Context<'_>,
        what: Wanted,
    ) -> Read<(u32, u32)> {
        let start = self.at;
        self.candidate(Candidate::Numbers);
        if has_letters {
            self.candidate(Candidate::Lettered);
        }
        if has_letters && let Some(problem) = self.dash_for_dots() {
            return Err(problem);
        }
        let from = self.printed_number(most, has_letters, context, what)?;
        self.candidate(Candidate::Dots);
        if self.next_if(|kind| kind == TokenKind::DotDot).is_none() {
            if let Some(problem) = self.word_for_dots() {
                return Err(problem);
            }
            let is_number = |token: &Token| token.kind == TokenKind::Number || has_letters && self.lettered().is_some();
            return match self.peek().filter(is_number) {
                Some(_) => Err(self.again().unwrap_or_else(|| self.dots_missing())),
                None => Ok((from, from)),
            };
        }
        self.candidate(Candidate::LastNumber { from });
        let to = self.printed_number(most, has_letters, context, what)?;
        if !is_one_row(from, to) {
            return Err(self.other_row(start, from, to));
        }
        if to < from {
            let range = self.read_range(start);
            return Err(Box::new(
                Problem::new(
                    VALUE,
                    range,
                    format!(
                        "the range is the wrong way round: {} is more than {}",
                        printed(from),
                        printed(to)
                    ),
                )
                .fix(Fix::replace(
                    range,
                    numbers_written(to, from),
                    "Swap the ends of the range",
                )),
            ));
        }
        Ok((from, to))
    }

    /// The problem of a range from one row to another.
    fn other_row(&self, start: usize, from: u32, to: u32) -> Box<Problem> {
        let range = self.read_range(start);
        let message = format!(
            "`{}` leads from one row into another: both its ends need the same letters",
            range.of(self.text)
        );
        let problem = Problem::new(VALUE, range, message);
        // Letters at one end only are meant for both.
        let to_row = if in_row(to) == to { from } else { to };
        let (first, last) = (in_row_of(to_row, from), in_row_of(to_row, to));
        let is_clear = (in_row(from) == from || in_row(to) == to) && first < last;
        Box::new(if is_clear {
            let better = numbers_written(first, last);
            problem.help(format!("write `{better}`")).fix(Fix::replace(
                range,
                better.clone(),
                format!("Write `{better}`"),
            ))
        } else {
            problem.help("write each row by itself, such as `A1 .. A10`")
        })
    }

    /// The problem of `A1-A10`, which is one word.
    fn dash_for_dots(&self) -> Option<Box<Problem>> {
        let word = self.peek().filter(|token| token.kind == TokenKind::Word)?;
        let (first, last) = word.range.of(self.text).split_once('-')?;
        lettered(first)?;
        lettered(last).or_else(|| last.parse().ok())?;
        let message = format!("`{first}-{last}` does not make a range");
        let better = format!("{first} .. {last}");
        let problem = Problem::new(VALUE, word.range, message);
        Some(Box::new(
            problem
                .help("a range is written with two dots, such as `A1 .. A10`")
                .fix(Fix::replace(word.range, better.clone(), format!("Write `{better}`"))),
        ))
    }

    /// The problem of two adjacent numbers that should be a range.
    pub(super) fn dots_missing(&self) -> Box<Problem> {
        let range = self.peek().map_or(self.last(), |token| token.range);
        let at = TextRange::empty(self.last().end);
        // `0-15` is lexed as two numbers, the second with a sign.
        let dash = range.of(self.text).strip_prefix('-').filter(|_| range.start == at.end);
        if let Some(second) = dash {
            let whole = self.last().cover(range);
            let better = format!("{} .. {second}", self.last().of(self.text));
            let problem = Problem::new(VALUE, whole, format!("`{}` does not make a range", whole.of(self.text)));
            return Box::new(
                problem
                    .help("a range is written with two dots, such as `1 .. 10`")
                    .fix(Fix::replace(
                        range,
                        format!(" .. {second}"),
                        format!("Write `{better}`"),
                    )),
            );
        }
        let problem = Problem::new(
            VALUE,
            range,
            format!("`..` is missing before `{}`", range.of(self.text)),
        );
        Box::new(
            problem
                .help("a range is written with both its ends, such as `1 .. 10`")
                .fix(Fix::replace(at, " ..", "Insert `..`")),
        )
    }

    pub(super) fn choice(&mut self, choices: &'static [Choice], shape: Shape, context: Context<'_>) -> Read<Choice> {
        self.candidate(Candidate::Choice(choices));
        let written = self.peek_text();
        if let Some(choice) = choices.iter().find(|choice| choice.word() == written) {
            self.at += 1;
            self.annotate_choice(shape, context);
            return Ok(*choice);
        }
        let words = choices.iter().map(|choice| choice.word());
        Err(self.wanted_word(context, Wanted::Shape(shape), words))
    }

    /// The problem that one of a few words is expected, with a fix for a similar one.
    fn wanted_word<'w>(
        &self,
        context: Context<'_>,
        what: Wanted,
        words: impl IntoIterator<Item = &'w str>,
    ) -> Box<Problem> {
        let mut problem = self.wanted(context, what);
        if let Some(near) = nearest(self.peek_text(), words).filter(|_| self.peek().is_some()) {
            problem.fix = Some(Fix::replace(problem.range, near, format!("Write `{near}`")));
        }
        problem
    }

    pub(super) fn limit(&mut self, dimension: Dimension, shape: Shape, context: Context<'_>) -> Read<Limit> {
        self.candidate(Candidate::Level);
        let Some(level) = of_words::<LimitLevel>(self.peek_text()) else {
            let words = LimitLevel::VARIANTS.iter().map(|level| level.word());
            return Err(self.wanted_word(context, Wanted::Shape(shape), words));
        };
        self.at += 1;
        self.annotate_choice(shape, context);
        let value = self.quantity(dimension, Shape::Quantity(dimension), context)?;
        self.candidate(Candidate::Severity);
        let severity = of_words::<Severity>(self.peek_text());
        if severity.is_some() {
            self.at += 1;
            self.annotate_choice(shape, context);
        }
        if severity.is_none()
            && let Some(problem) = self.severity_unknown(context)
        {
            return Err(problem);
        }
        let deadband = if self.candidate_word("deadband") {
            let context = Context {
                subject: "deadband",
                is_difference: true,
                domain: domain::fineness(dimension),
                ..context
            };
            Some(if dimension == Dimension::Pressure {
                self.difference(Shape::Difference, context)?
            } else {
                self.quantity(dimension, Shape::Quantity(dimension), context)?
            })
        } else {
            None
        };
        Ok(Limit {
            level,
            value,
            severity,
            deadband,
        })
    }

    pub(super) fn dew_point(&mut self, shape: Shape, context: Context<'_>) -> Read<Value> {
        let start = self.at;
        let temperature = self.quantity(Dimension::Temperature, shape, context)?;
        if !self.candidate_word("over") {
            return Ok(Value::DewPoint(temperature, None));
        }
        let choices = DewPointSurface::ALL;
        let surface = self.choice(choices, Shape::Choice(choices), context)?;
        let surface = DewPointSurface::try_from(surface).ok();
        if surface == Some(DewPointSurface::Ice) && temperature.si() > FREEZING {
            let range = self.read_range(start);
            let message = format!("`{}` is above freezing, where there is no ice", range.of(self.text));
            return Err(Box::new(Problem::new(VALUE, range, message)));
        }
        Ok(Value::DewPoint(temperature, surface))
    }

    /// The problem of a word after the value of a limit that is no severity and starts nothing else.
    fn severity_unknown(&self, context: Context<'_>) -> Option<Box<Problem>> {
        let word = self.peek().filter(|token| token.kind.is_word())?;
        let written = word.range.of(self.text);
        if written == "deadband"
            || is_deadband_elsewhere(written)
            || field(context.siblings, written).is_some()
            || self.again().is_some()
        {
            return None;
        }
        let words = Severity::VARIANTS.iter().map(|severity| severity.word());
        let problem = Problem::new(VALUE, word.range, format!("unknown severity `{written}`"));
        let problem = match nearest(written, words) {
            Some(near) => problem.meant(near),
            None => problem.help("the severities are `critical`, `major`, `minor` and `warning` (ITU-T X.733)"),
        };
        Some(Box::new(problem))
    }

    pub(super) fn loss(&mut self, context: Context<'_>) -> Read<Loss> {
        let pressure = self.difference(Shape::Loss, context)?;
        if !self.candidate_word("at") {
            return Err(self.wanted(context, Wanted::Words("`at` and a flow, as in `0.5 psi at 20 scfh`,")));
        }
        let context = Context {
            domain: Some(&domain::LOSS_FLOW),
            ..context
        };
        let flow = self.quantity(Dimension::Flow, Shape::Quantity(Dimension::Flow), context)?;
        Ok(Loss { pressure, flow })
    }

    pub(super) fn place(&mut self, shape: Shape, context: Context<'_>) -> Read<StatedPosition> {
        self.candidate(Candidate::Host);
        let Some((host, name)) = self.word() else {
            return Err(self.wanted(context, Wanted::Shape(shape)));
        };
        self.annotate_thing();
        self.position_on_line(host, name, context)
    }

    /// Reads the position on a cable or pipe whose name was already read.
    pub(super) fn position_on_line(
        &mut self,
        host: &str,
        name: TextRange,
        context: Context<'_>,
    ) -> Read<StatedPosition> {
        self.position_candidate(host);
        self.inner_word_candidate(host, Key::Place);
        self.inner_word_candidate(host, Key::Branch);
        let mut at = StatedPosition {
            thing: None,
            name,
            branch: None,
            distance: None,
            place: None,
        };
        if self.word_is("branch") {
            self.inner_candidate(host, Key::Branch);
            let Some((branch, _)) = self.word() else {
                return Err(self.wanted(context, Wanted::Words("the name of a branch")));
            };
            self.annotate_inner(Key::Branch, host);
            self.inner_word_candidate(host, Key::Place);
            at.branch = Some(branch.into());
        }
        if self.word_is("place") {
            self.inner_candidate(host, Key::Place);
            let Some((place, _)) = self.word() else {
                return Err(self.wanted(context, Wanted::Words("the name of a place")));
            };
            self.annotate_inner(Key::Place, host);
            at.place = Some(place.into());
        } else {
            at.distance = Some(self.quantity(Dimension::Length, Shape::Quantity(Dimension::Length), context)?);
        }
        Ok(at)
    }

    pub(super) fn fitting(&mut self, context: Context<'_>) -> Read<Fitting> {
        let shape = Shape::Fitting;
        let start = self.at;
        let size = self.quantity(Dimension::Length, shape, context)?;
        self.candidate(Candidate::FittingType);
        let Some(kind) = of_words::<FittingType>(self.peek_text()) else {
            return Err(self.wanted(
                context,
                Wanted::Words("`compression`, `barb`, `push-in`, `npt`, `iso-7`, `iso-228` or `thread` after the size"),
            ));
        };
        self.at += 1;
        self.annotate_choice(shape, context);
        if kind.is_thread() {
            self.candidate(Candidate::Sex);
        }
        let sex = of_words::<Sex>(self.peek_text());
        if sex.is_some() {
            self.at += 1;
            self.annotate_choice(shape, context);
        }
        if kind.is_thread() != sex.is_some() {
            let range = self.read_range(start);
            let message = if sex.is_some() {
                "only a thread is `male` or `female`"
            } else {
                "a thread is `male` or `female`: say which"
            };
            return Err(Box::new(Problem::new(VALUE, range, message)));
        }
        Ok(Fitting { size, kind, sex })
    }

    pub(super) fn record(&mut self, shape: Shape, context: Context<'_>) -> Read<Recorded> {
        self.candidate(Candidate::RecordName);
        let Some((name, range)) = self.word() else {
            return Err(self.wanted(context, Wanted::Shape(shape)));
        };
        self.annotate(Meaning::RecordName);
        let text = self.text(Shape::Text, context)?;
        Ok(Recorded {
            name: name.into(),
            range,
            text: text.into(),
        })
    }

    pub(super) fn former_name(&mut self, shape: Shape, context: Context<'_>) -> Read<Box<str>> {
        let Some((name, _)) = self.word() else {
            return Err(self.wanted_name(context, Wanted::Shape(shape)));
        };
        self.annotate(Meaning::FormerName);
        Ok(name.into())
    }

    pub(super) fn path(&mut self, shape: Shape, context: Context<'_>) -> Read<Box<str>> {
        self.candidate(Candidate::Path);
        let Some((path, _)) = self.word() else {
            return Err(self.wanted(context, Wanted::Shape(shape)));
        };
        self.annotate(Meaning::Path);
        // An extension is reported where the path is looked up, and does not hide the path.
        Ok(path.strip_suffix(DOT_EXTENSION).unwrap_or(path).into())
    }

    /// The problem that a name is expected, with a fix if it is in quotes.
    fn wanted_name(&self, context: Context<'_>, what: Wanted) -> Box<Problem> {
        let problem = self.wanted(context, what);
        let Some(text) = self.peek().filter(|token| token.kind == TokenKind::Text) else {
            return problem;
        };
        let name = unquoted(text.range.of(self.text));
        let is_name = name.starts_with(char::is_alphabetic)
            && name
                .chars()
                .all(|char| char.is_alphanumeric() || matches!(char, '-' | '_'));
        let help = "a name is written without quotes; text for people goes into `title` or `note`";
        let problem = problem.help(help);
        Box::new(if is_name {
            let title = format!("Write `{name}` without quotes");
            problem.fix(Fix::replace(text.range, name, title))
        } else {
            problem
        })
    }

    pub(super) fn other(&mut self, kind: KindId, shape: Shape, context: Context<'_>) -> Read<ThingReference> {
        self.candidate(Candidate::OfKind(kind));
        let Some((name, range)) = self.word() else {
            return Err(self.wanted_name(context, Wanted::Shape(shape)));
        };
        self.annotate_thing();
        Ok(ThingReference {
            name: name.into(),
            range,
            thing: None,
        })
    }

    pub(super) fn link(&mut self, shape: Shape, context: Context<'_>) -> Read<Value> {
        self.candidate(Candidate::LinkKind);
        let Some(over) = LinkMedium::find(self.peek_text()) else {
            return Err(self.wanted(context, Wanted::Shape(shape)));
        };
        self.at += 1;
        self.annotate_choice(shape, context);
        let to = self.any_text(Shape::Text, context)?;
        match over.objection(&to) {
            Some(expected) => Err(Box::new(Problem::new(
                ProblemId::ValueImplausible,
                self.last(),
                format!("`{} {}` expects {expected}; found `{to}`", context.subject, over.word()),
            ))),
            None => Ok(Value::Link { over, to: to.into() }),
        }
    }
}

pub(super) fn of_words<T: strum::VariantArray + Copy + Into<&'static str>>(written: &str) -> Option<T> {
    T::VARIANTS
        .iter()
        .copied()
        .find(|variant| Into::<&str>::into(*variant) == written)
}

/// Quotes of a text: those of a keyboard, or pasted ones.
const QUOTES: [char; 6] = ['"', '\u{201c}', '\u{201d}', '\u{201e}', '\u{ab}', '\u{bb}'];

pub(super) fn unquoted(written: &str) -> String {
    let inner = written.strip_prefix(QUOTES).unwrap_or(written);
    let inner = inner.strip_suffix(QUOTES).unwrap_or(inner);
    let mut text = String::with_capacity(inner.len());
    let mut characters = inner.chars();
    while let Some(character) = characters.next() {
        match character {
            '\\' => text.extend(characters.next()),
            other => text.push(other),
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_and_escapes_go() {
        assert_eq!(unquoted(r#""say \"air\" \\""#), r#"say "air" \"#);
        assert_eq!(unquoted("\"open"), "open");
    }
}
