//! Reads numbers and their units.

use drysheath_engineering::units::{self, Dimension, Quantity, Scale, Unit};
use drysheath_syntax::{Fix, LONGEST_NUMBER, TokenKind};
use drysheath_text::TextRange;

use super::candidates::{Candidate, CountsFrom};
use super::reader::{Context, Read, Reader, VALUE, Wanted};
use crate::kinds::{Shape, domain, field};
use crate::problem::{Problem, ProblemId};

impl Reader<'_> {
    pub(super) fn number(&mut self, what: Wanted, context: Context<'_>) -> Read<(f64, TextRange)> {
        let Some(token) = self.peek().filter(|token| token.kind == TokenKind::Number) else {
            return Err(self
                .letters_for_digits()
                .unwrap_or_else(|| self.number_missing(what, context)));
        };
        let written = token.range.of(self.text);
        let value = if token.range.len() > LONGEST_NUMBER {
            None
        } else {
            number(written).or_else(|| gauge(written))
        };
        match value {
            Some(value) => {
                self.at += 1;
                Ok((value, token.range))
            }
            None => Err(Box::new(Problem::new(
                VALUE,
                token.range,
                format!("`{written}` is not a usable number"),
            ))),
        }
    }

    pub(super) fn number_missing(&self, what: Wanted, context: Context<'_>) -> Box<Problem> {
        let written = self.peek_text();
        match self
            .peek()
            .filter(|token| token.kind.is_word() && units::find(written).is_some())
        {
            Some(unit) if self.again().is_none() => {
                if let Some(number) = self
                    .tokens
                    .get(self.at + 1)
                    .filter(|next| next.kind == TokenKind::Number)
                {
                    let range = unit.range.cover(number.range);
                    let better = format!("{} {written}", number.range.of(self.text));
                    let message = format!("`{}` has its unit before the number", range.of(self.text));
                    return Box::new(
                        Problem::new(VALUE, range, message)
                            .help(format!("write `{better}`"))
                            .fix(Fix::replace(range, better.clone(), format!("Write `{better}`"))),
                    );
                }
                let problem = Problem::new(VALUE, unit.range, format!("the number is missing before `{written}`"));
                Box::new(problem.help(format!("`{}` expects {}", context.subject, what.words())))
            }
            _ => self.wanted(context, what),
        }
    }

    /// Reads a number and its unit, in any dimension. `dimensions` are the allowed ones.
    pub(super) fn any_quantity(
        &mut self,
        what: &'static str,
        dimensions: &[Dimension],
        context: Context<'_>,
    ) -> Read<Quantity> {
        let start = self.at;
        let (value, place) = self.number(Wanted::Words(what), context)?;
        for dimension in dimensions {
            self.unit_candidate(*dimension, context);
        }
        let written = place.of(self.text);
        if let Some(unit) = self
            .peek()
            .filter(|token| token.kind.is_word())
            .and_then(|_| self.unit_called(self.peek_text()))
        {
            self.at += 1;
            self.annotate_quantity(start, Some(self.at - 1), unit, context);
            return quantity_of(value, written, place, unit);
        }
        let mut problem = self.unit_problem(place, dimensions, context);
        if problem.help.is_none() {
            problem.help = Some(format!("`{}` expects {what}", context.subject));
        }
        Err(problem)
    }

    pub(super) fn quantity(&mut self, dimension: Dimension, shape: Shape, context: Context<'_>) -> Read<Quantity> {
        let start = self.at;
        let (value, place) = self.number(Wanted::Shape(shape), context)?;
        self.unit(value, place, start, dimension, context)
    }

    /// The unit with that spelling, under the repository's standard conditions.
    pub(super) fn unit_called(&self, written: &str) -> Option<&'static Unit> {
        units::find(written).map(|unit| units::counted(unit, self.standard))
    }

    pub(super) fn unit_candidate(&self, dimension: Dimension, context: Context<'_>) {
        let from = match context.domain {
            _ if context.is_difference => CountsFrom::Nothing,
            Some(domain) if domain.is_absolute() => CountsFrom::Vacuum,
            _ => CountsFrom::Either,
        };
        self.candidate(Candidate::Unit { dimension, from });
    }

    pub(super) fn unit(
        &mut self,
        value: f64,
        number: TextRange,
        start: usize,
        dimension: Dimension,
        context: Context<'_>,
    ) -> Read<Quantity> {
        self.unit_candidate(dimension, context);
        let word = self.peek().filter(|token| token.kind.is_word());
        let Some(unit) = word.and_then(|_| self.unit_called(self.peek_text())) else {
            return Err(self.unit_problem(number, &[dimension], context));
        };
        let is_pair_size = context
            .domain
            .is_some_and(|own| std::ptr::eq(own, &raw const domain::PAIR_SIZE));
        let unit = if is_pair_size && unit.name == units::CONDUCTOR_DIAMETER.name {
            &units::CONDUCTOR_DIAMETER
        } else {
            unit
        };
        self.at += 1;
        self.annotate_quantity(start, Some(self.at - 1), unit, context);
        if unit.dimension != dimension {
            let range = self.read_range(start);
            let examples = some_units(dimension);
            return Err(Box::new(
                Problem::new(
                    ProblemId::UnitWrongDimension,
                    range,
                    format!(
                        "`{}` expects a {}, found `{}`, a {}",
                        context.subject,
                        dimension.name(),
                        range.of(self.text),
                        unit.dimension.name()
                    ),
                )
                .help(format!("units of {} are {examples}", dimension.name())),
            ));
        }
        let quantity = quantity_of(value, number.of(self.text), number, unit)?;
        let si = quantity.si();
        let below_nothing = (unit.dimension == Dimension::Temperature || unit.absolute) && si < 0.0;
        if !si.is_finite() || below_nothing {
            let range = self.read_range(start);
            return Err(Box::new(Problem::new(
                VALUE,
                range,
                if below_nothing {
                    format!("`{}` is below absolute zero", range.of(self.text))
                } else {
                    format!("`{}` is larger than any figure can be", range.of(self.text))
                },
            )));
        }
        self.plausible(quantity, self.read_range(start), context)?;
        Ok(quantity)
    }

    /// The problem of a missing or unknown unit of one of `dimensions` after `number`.
    pub(super) fn unit_problem(
        &self,
        number: TextRange,
        dimensions: &[Dimension],
        context: Context<'_>,
    ) -> Box<Problem> {
        if let Some(problem) = self.again().or_else(|| self.letters_in(number)) {
            return problem;
        }
        let written = self.peek_text();
        let is_other_word = field(context.siblings, written).is_some() || FOLLOWING.contains(&written);
        let word = self.peek().filter(|token| token.kind.is_word() && !is_other_word);
        let units = match dimensions {
            [only] => Some(format!("units of {} are {}", only.name(), some_units(*only))),
            _ => None,
        };
        let Some(word) = word else {
            let message = format!("`{}` has no unit", number.of(self.text));
            let mut problem = Problem::new(ProblemId::UnitMissing, number, message);
            problem.help = units;
            return Box::new(problem);
        };
        let mut problem = Problem::new(ProblemId::UnitUnknown, word.range, format!("unknown unit `{written}`"));
        let said = SAID.iter().find(|(said, _)| *said == written).map(|(_, unit)| *unit);
        let said = said
            .and_then(units::find)
            .filter(|unit| dimensions.contains(&unit.dimension));
        let near = said.or_else(|| {
            let mut near = dimensions
                .iter()
                .filter_map(|dimension| units::nearest(written, Some(*dimension)));
            near.next()
        });
        if let Some(near) = near {
            let first = |word: &str| word.chars().next().map(|first| first.to_ascii_lowercase());
            // `µohm` is similar to `ohm`, but a million times smaller.
            if said.is_some() || first(near.name) == first(written) {
                problem = problem.meant(near.name);
            }
        }
        // The list of units is more useful than the nearest one, which the fix names.
        if units.is_some() {
            problem.help = units;
        }
        Box::new(problem)
    }

    /// `2O psi`: letters that look like digits directly after a number, followed by a unit.
    fn letters_in(&self, number: TextRange) -> Option<Box<Problem>> {
        let letters = self.peek().filter(|token| token.range.start == number.end)?;
        let unit = self.tokens.get(self.at + 1)?.range.of(self.text);
        let better = digits(letters.range.of(self.text)).filter(|_| units::find(unit).is_some())?;
        Some(self.letters(
            number.cover(letters.range),
            &format!("{}{better}", number.of(self.text)),
        ))
    }

    /// `l0 psi`: a word that looks like a number.
    fn letters_for_digits(&self) -> Option<Box<Problem>> {
        let word = self.peek()?;
        let better = digits(word.range.of(self.text))?;
        Some(self.letters(word.range, &better))
    }

    fn letters(&self, range: TextRange, better: &str) -> Box<Problem> {
        let message = format!("`{}` has a letter in the place of a digit", range.of(self.text));
        let problem = Problem::new(VALUE, range, message).help(format!("write `{better}`"));
        Box::new(problem.fix(Fix::replace(range, better, format!("Write `{better}`"))))
    }

    /// `0 to 15 psi`: a word in place of the dots of a range.
    pub(super) fn word_for_dots(&self) -> Option<Box<Problem>> {
        let word = self.peek().filter(|token| token.kind.is_word())?;
        let written = word.range.of(self.text);
        let follows = self
            .tokens
            .get(self.at + 1)
            .is_some_and(|next| next.kind == TokenKind::Number);
        if !follows || !matches!(written, "to" | "through" | "thru" | "until" | "and" | "till") {
            return None;
        }
        let problem = Problem::new(VALUE, word.range, format!("`{written}` does not make a range"));
        Some(Box::new(
            problem
                .help("a range is written with two dots, such as `1 .. 10`")
                .fix(Fix::replace(word.range, "..", "Write `..`")),
        ))
    }

    pub(super) fn difference(&mut self, shape: Shape, context: Context<'_>) -> Read<Quantity> {
        let start = self.at;
        let context = Context {
            is_difference: true,
            ..context
        };
        let quantity = self.quantity(Dimension::Pressure, shape, context)?;
        if quantity.unit.absolute {
            let range = self.read_range(start);
            return Err(Box::new(
                Problem::new(
                    ProblemId::UnitWrongDimension,
                    range,
                    format!(
                        "`{}` is a difference of two pressures, and `{}` is absolute",
                        context.subject,
                        range.of(self.text)
                    ),
                )
                .help("use psi, kPa or another unit that is not absolute"),
            ));
        }
        Ok(quantity)
    }

    pub(super) fn range(
        &mut self,
        dimension: Dimension,
        shape: Shape,
        context: Context<'_>,
    ) -> Read<(Quantity, Quantity)> {
        let start = self.at;
        let (value, place) = self.number(Wanted::Shape(shape), context)?;
        self.candidate(Candidate::Dots);
        let first = match self.peek().map(|token| token.kind) {
            Some(TokenKind::DotDot) => None,
            Some(TokenKind::Number) => return Err(self.again().unwrap_or_else(|| self.dots_missing())),
            _ if let Some(problem) = self.word_for_dots() => return Err(problem),
            _ => Some(self.unit(value, place, start, dimension, context)?),
        };
        self.candidate(Candidate::Dots);
        if self.next_if(|kind| kind == TokenKind::DotDot).is_none() {
            return Err(match self.peek().map(|token| token.kind) {
                Some(TokenKind::Number) => self.dots_missing(),
                _ => self
                    .word_for_dots()
                    .unwrap_or_else(|| self.wanted(context, Wanted::OtherEnd(shape))),
            });
        }
        let second = self.quantity(dimension, shape, context)?;
        // `0 .. 15 psi` has one unit for both ends.
        let first = match first {
            Some(first) => first,
            None => {
                self.annotate_quantity(start, None, second.unit, context);
                let first = quantity_of(value, place.of(self.text), place, second.unit)?;
                self.plausible(first, place, context)?;
                first
            }
        };
        Ok((first, second))
    }
}

/// Words that may follow a quantity within a field or a run.
const FOLLOWING: &[&str] = &[
    "at",
    "deadband",
    "over",
    "critical",
    "major",
    "minor",
    "warning",
    "tube",
    "bore",
    "compression",
    "barb",
    "push-in",
    "thread",
];

/// Colloquial spellings of units that are unambiguous.
const SAID: &[(&str, &str)] = &[
    ("C", "degC"),
    ("\u{ba}C", "degC"),
    ("F", "degF"),
    ("\u{ba}F", "degF"),
    ("ga", "awg"),
    ("gage", "awg"),
    ("gauge", "awg"),
];

/// Replaces letters that look like digits, `O` and `o` for 0, `l` and `I` for 1. `None` if the word has other letters.
fn digits(word: &str) -> Option<String> {
    let digits: String = word
        .chars()
        .map(|char| match char {
            'O' | 'o' => Some('0'),
            'l' | 'I' => Some('1'),
            digit => digit.is_ascii_digit().then_some(digit),
        })
        .collect::<Option<_>>()?;
    (!digits.is_empty()).then_some(digits)
}

/// The first few units of a dimension, for a message.
fn some_units(dimension: Dimension) -> String {
    const ENOUGH: usize = 6;
    let names: Vec<_> = dimension.units().take(ENOUGH).map(|unit| unit.name).collect();
    names.join(", ")
}

/// Parses `12`, `-0.5`, `1e3`, `3/8`, `1-1/2`.
fn number(written: &str) -> Option<f64> {
    if let Some(amount) = written.strip_prefix(['\u{2212}', '\u{fe63}', '\u{ff0d}']) {
        return number(amount).map(|amount| -amount);
    }
    // Hardly any number is a fraction, so try that last.
    let value = written.parse().ok().or_else(|| {
        let (above, below) = written.split_once('/')?;
        let (whole, above) = above.split_once('-').unwrap_or(("0", above));
        let below: f64 = below.parse().ok()?;
        Some(whole.parse::<f64>().ok()? + above.parse::<f64>().ok()? / below)
    })?;
    f64::is_finite(value).then_some(value)
}

/// The quantity of a number, in any accepted spelling, and a unit. `None` if they do not fit.
pub fn quantity(written: &str, unit: &'static Unit) -> Option<Quantity> {
    if written.len() > LONGEST_NUMBER as usize {
        return None;
    }
    let value = number(written).or_else(|| gauge(written))?;
    quantity_of(value, written, TextRange::default(), unit).ok()
}

/// A number with its unit. `1/0` is only valid as a wire size.
fn quantity_of(value: f64, written: &str, range: TextRange, unit: &'static Unit) -> Read<Quantity> {
    if unit.scale != Scale::AmericanWireGauge && !written.ends_with("/0") {
        return Ok(Quantity { value, unit });
    }
    match (unit.scale, gauge(written)) {
        (Scale::AmericanWireGauge, Some(value)) => Ok(Quantity { value, unit }),
        (_, Some(_)) => Err(Box::new(Problem::new(
            VALUE,
            range,
            format!("`{written}` is a wire size in awg, not a number of {}", unit.name),
        ))),
        (_, None) => Ok(Quantity { value, unit }),
    }
}

/// `1/0` to `4/0` as wire sizes, not fractions: 0 to -3.
fn gauge(written: &str) -> Option<f64> {
    let (aughts, zero) = written.split_once('/')?;
    let aughts: f64 = aughts.parse().ok()?;
    (zero == "0").then_some(1.0 - aughts)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_that_look_like_digits() {
        assert_eq!(digits("lO").as_deref(), Some("10"));
        assert_eq!(digits("to"), None);
        assert_eq!(digits(""), None);
    }

    #[test]
    fn numbers_in_every_spelling() {
        for (written, value) in [
            ("12", 12.0),
            ("-0.5", -0.5),
            ("3/8", 0.375),
            ("1-1/2", 1.5),
            ("1e3", 1000.0),
        ] {
            assert_eq!(number(written), Some(value), "{written}");
        }
        assert_eq!(number("1/0"), None);
        assert_eq!(gauge("2/0"), Some(-1.0));
        assert_eq!(gauge("3/8"), None);
    }
}
