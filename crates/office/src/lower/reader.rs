//! Reads what is said of a field, a run's end or a `with`, one token after the other.

use drysheath_engineering::units::{self, Dimension, Quantity, Scale, Unit};
use drysheath_syntax::{Fix, LONGEST_NUMBER, Token, TokenKind, Word};
use drysheath_text::TextRange;

use super::candidates::Candidate;
use super::notes::Notes;
use crate::kinds::{Choice, FieldSpec, Key, Port, Shape, field};
use crate::model::ThingId;
use crate::problem::{Problem, ProblemId};
use crate::semantics::{Figure, Meaning};
use crate::spelling::nearest;
use crate::value::{At, Fields, Fitting, FittingType, Level, Limit, LinkMedium, Severity, Sex, Value};

/// A result of reading: the value, or the one problem that stands in its way.
pub(super) type Read<T> = Result<T, Box<Problem>>;

pub(super) const VALUE: ProblemId = ProblemId::ValueUnreadable;

#[derive(Clone)]
pub(super) struct Reader<'t> {
    text: &'t str,
    tokens: &'t [Token],
    /// The number of the first token for whoever notes what the tokens mean.
    first: Word,
    at: usize,
    /// What stands before the first token: the place of anything that is missing altogether.
    before: TextRange,
    /// Where the meaning of each token is noted, for whoever asks for that.
    notes: Option<&'t Notes<'t>>,
}

/// What is wanted, put into words only when it is missing: nearly always it is there.
#[derive(Clone, Copy)]
pub(super) enum Wanted {
    Shape(Shape),
    Words(&'static str),
    /// The other end of a range.
    OtherEnd(Shape),
}

impl Wanted {
    fn words(self) -> String {
        match self {
            Self::Shape(shape) => shape.wanted(),
            Self::Words(words) => words.to_owned(),
            Self::OtherEnd(shape) => format!("{}, with both its ends", shape.wanted()),
        }
    }
}

/// Words that may follow a quantity and therefore are no misspelt unit.
#[derive(Clone, Copy)]
pub(super) struct Context<'c> {
    /// What is being read, as the subject of a message.
    pub subject: &'c str,
    /// Fields that may follow if a comma was forgotten.
    pub siblings: &'c [FieldSpec],
    /// What `yes` and `no` are about.
    pub doc: &'static str,
    /// Whether a quantity is a difference of two figures, and no figure on its scale.
    pub is_difference: bool,
}

impl<'c> Context<'c> {
    pub(super) fn of(subject: &'c str) -> Self {
        Self {
            subject,
            siblings: &[],
            doc: "",
            is_difference: false,
        }
    }
}

impl<'t> Reader<'t> {
    pub(super) fn new(text: &'t str, tokens: &'t [Token], before: TextRange) -> Self {
        Self {
            text,
            tokens,
            first: 0,
            at: 0,
            before,
            notes: None,
        }
    }

    /// The same reader, which notes what the tokens mean, counted from `first`, and what could follow them.
    pub(super) fn noting(self, notes: Option<&'t Notes<'t>>, first: Word) -> Self {
        Self { first, notes, ..self }
    }

    /// The same reader for a look at what follows, of which nothing is noted.
    pub(super) fn ahead(&self) -> Self {
        Self {
            notes: None,
            ..self.clone()
        }
    }

    /// Notes what could stand here, where nothing more does.
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

    fn note_at(&self, at: usize, meaning: Meaning) {
        if let Some(notes) = self.notes {
            notes.set(self.first + at as Word, meaning);
        }
    }

    /// Notes that the last word that was read names a thing.
    pub(super) fn note_thing(&self) {
        if let Some(notes) = self.notes {
            let id = notes.office.named(self.last().of(self.text));
            self.note(Meaning::Thing { id, declares: false });
        }
    }

    /// Notes that the last word that was read names something inside the thing that was named before it.
    fn note_inner(&self, key: Key, thing: &str) {
        if let Some(notes) = self.notes {
            self.note(Meaning::Named {
                thing: notes.office.named(thing),
                key,
                declares: false,
                is_nested: false,
            });
        }
    }

    /// Notes the numbers of a port that stand here.
    pub(super) fn note_numbers(&self, thing: Option<ThingId>, port: &'static Port) {
        let (Some(thing), Some(_)) = (thing, self.notes) else {
            return;
        };
        let tokens = self.tokens.iter().enumerate().skip(self.at);
        for (at, token) in tokens.take_while(|(_, token)| matches!(token.kind, TokenKind::Number | TokenKind::DotDot)) {
            if let Ok(number) = token.range.of(self.text).parse() {
                self.note_at(at, Meaning::Numbered { thing, port, number });
            }
        }
    }

    /// Notes that the name of something inside a thing could stand here.
    fn inner_candidate(&self, thing: &str, key: Key) {
        if let Some(id) = self.notes.and_then(|notes| notes.office.named(thing)) {
            self.candidate(Candidate::NameOf(id, key));
        }
    }

    /// Notes that the word before such a name could stand here, where the thing has one.
    fn inner_word_candidate(&self, thing: &str, key: Key) {
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
                thing: notes.thing,
                key,
                declares: true,
                is_nested,
            });
        }
    }

    /// Notes that the last word that was read is one of those that `shape` has.
    fn note_choice(&self, shape: Shape, context: Context<'_>) {
        if self.notes.is_some() {
            let doc = doc_of(shape, self.last().of(self.text), context.doc);
            self.note(doc.map_or(Meaning::Nothing, Meaning::Choice));
        }
    }

    /// Notes a number, and the unit that it has for itself or shares with the other end of a range.
    fn note_quantity(&self, number: usize, own_unit: Option<usize>, unit: &'static Unit, context: Context<'_>) {
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

    /// Notes what can be told of the tokens that are left where the reading of a value has failed. `yes_no` is what `yes` and
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
                let unit = ahead.word().and_then(|(word, _)| units::find(word));
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

    pub(super) fn peek(&self) -> Option<Token> {
        self.tokens.get(self.at).copied()
    }

    pub(super) fn peek_text(&self) -> &'t str {
        self.peek().map_or("", |token| token.range.of(self.text))
    }

    pub(super) fn next(&mut self) -> Option<Token> {
        let token = self.peek()?;
        self.at += 1;
        Some(token)
    }

    pub(super) fn next_if(&mut self, wanted: impl Fn(TokenKind) -> bool) -> Option<(&'t str, TextRange)> {
        let token = self.peek().filter(|token| wanted(token.kind))?;
        self.at += 1;
        Some((token.range.of(self.text), token.range))
    }

    pub(super) fn word(&mut self) -> Option<(&'t str, TextRange)> {
        self.next_if(TokenKind::is_word)
    }

    pub(super) fn word_is(&mut self, wanted: &str) -> bool {
        let found = self.peek().is_some_and(|token| token.kind.is_word()) && self.peek_text() == wanted;
        if found {
            self.at += 1;
            self.note(Meaning::Keyword);
        }
        found
    }

    /// The same for a word that could stand here.
    pub(super) fn candidate_word(&mut self, wanted: &'static str) -> bool {
        self.candidate(Candidate::Word(wanted));
        self.word_is(wanted)
    }

    /// The last token that was read, or what stands before the first.
    pub(super) fn last(&self) -> TextRange {
        self.at
            .checked_sub(1)
            .and_then(|at| self.tokens.get(at))
            .map_or(self.before, |token| token.range)
    }

    /// From the first to the last token that was read.
    pub(super) fn read_range(&self, from: usize) -> TextRange {
        let first = self.tokens.get(from).map_or(self.before, |token| token.range);
        if self.at > from {
            first.cover(self.last())
        } else {
            first
        }
    }

    /// How many tokens are left.
    pub(super) fn left(&self) -> usize {
        self.tokens.len() - self.at.min(self.tokens.len())
    }

    /// What is left, from here to the end.
    pub(super) fn rest(&self) -> Option<TextRange> {
        let first = self.peek()?;
        Some(
            self.tokens
                .last()
                .map_or(first.range, |last| first.range.cover(last.range)),
        )
    }

    /// The token that follows, where it is the one before it once more.
    pub(super) fn again(&self) -> Option<Box<Problem>> {
        let token = self.peek()?;
        let last = self.last();
        let written = token.range.of(self.text);
        if written != last.of(self.text) || last == token.range {
            return None;
        }
        let second = TextRange::new(last.end, token.range.end);
        let problem = Problem::new(VALUE, token.range, format!("`{written}` is written twice"));
        Some(Box::new(problem.fix(Fix::replace(
            second,
            "",
            format!("Take the second `{written}` away"),
        ))))
    }

    pub(super) fn wanted(&self, context: Context<'_>, what: Wanted) -> Box<Problem> {
        if let Some(problem) = self.again() {
            return problem;
        }
        let what = what.words();
        let message = match self.peek() {
            Some(found) => (
                found.range,
                format!(
                    "`{}` wants {what}, not `{}`",
                    context.subject,
                    found.range.of(self.text)
                ),
            ),
            None => (
                self.last(),
                format!("`{}` wants {what}, and nothing follows", context.subject),
            ),
        };
        Box::new(Problem::new(VALUE, message.0, message.1))
    }

    /// Reads what `shape` allows. Named fields and groups have no value here but their block.
    pub(super) fn shape(&mut self, shape: Shape, context: Context<'_>) -> Read<Value> {
        match shape {
            Shape::Text => self.text(shape, context).map(|text| Value::Text(text.into())),
            Shape::YesNo => self.yes_no(shape, context).map(Value::YesNo),
            Shape::Count => self.count(context, Wanted::Shape(shape)).map(Value::Count),
            Shape::Numbers => self
                .numbers(context, Wanted::Shape(shape))
                .map(|(from, to)| Value::Numbers(from, to)),
            Shape::Quantity(dimension) => self.quantity(dimension, shape, context).map(Value::Quantity),
            Shape::Difference => self.difference(shape, context).map(Value::Quantity),
            Shape::Range(dimension) => self
                .range(dimension, shape, context)
                .map(|(from, to)| Value::Range(from, to)),
            Shape::Choice(choices) => self.choice(choices, shape, context).map(Value::Choice),
            Shape::Limit(dimension) => self
                .limit(dimension, shape, context)
                .map(|limit| Value::Limit(Box::new(limit))),
            Shape::At => self.place(shape, context).map(|at| Value::At(Box::new(at))),
            Shape::Fitting => self.fitting(context).map(Value::Fitting),
            Shape::Link => self.link(shape, context),
            Shape::Group(_) | Shape::Named(_) => Err(self.wanted(context, Wanted::Shape(shape))),
        }
    }

    fn yes_no(&mut self, shape: Shape, context: Context<'_>) -> Read<bool> {
        self.candidate(Candidate::YesNo);
        let yes = match self.peek_text() {
            "yes" => true,
            "no" => false,
            _ => return Err(self.wanted(context, Wanted::Shape(shape))),
        };
        self.at += 1;
        self.note_choice(shape, context);
        Ok(yes)
    }

    fn text(&mut self, shape: Shape, context: Context<'_>) -> Read<String> {
        self.candidate(Candidate::Text);
        let text = self.next_if(|kind| matches!(kind, TokenKind::Text | TokenKind::OpenText));
        match text {
            Some((written, _)) => Ok(unquoted(written)),
            None => Err(self.wanted(context, Wanted::Shape(shape))),
        }
    }

    pub(super) fn count(&mut self, context: Context<'_>, what: Wanted) -> Read<u32> {
        let count = self
            .peek()
            .filter(|token| token.kind == TokenKind::Number)
            .and_then(|_| self.peek_text().parse().ok());
        match count {
            Some(count) if count > 0 => {
                self.at += 1;
                Ok(count)
            }
            _ => Err(self.wanted(context, what)),
        }
    }

    pub(super) fn numbers(&mut self, context: Context<'_>, what: Wanted) -> Read<(u32, u32)> {
        let start = self.at;
        self.candidate(Candidate::Numbers);
        let from = self.count(context, what)?;
        self.candidate(Candidate::Dots);
        if self.next_if(|kind| kind == TokenKind::DotDot).is_none() {
            return match self.peek().filter(|token| token.kind == TokenKind::Number) {
                Some(_) => Err(self.again().unwrap_or_else(|| self.dots_missing())),
                None => Ok((from, from)),
            };
        }
        self.candidate(Candidate::LastNumber { from });
        let to = self.count(context, what)?;
        if to < from {
            let range = self.read_range(start);
            return Err(Box::new(
                Problem::new(
                    VALUE,
                    range,
                    format!("the range runs backwards: {from} is more than {to}"),
                )
                .fix(Fix::replace(range, format!("{to} .. {from}"), "Turn the range round")),
            ));
        }
        Ok((from, to))
    }

    /// Two numbers side by side that ought to be a range.
    fn dots_missing(&self) -> Box<Problem> {
        let range = self.peek().map_or(self.last(), |token| token.range);
        let at = TextRange::empty(self.last().end);
        let problem = Problem::new(
            VALUE,
            range,
            format!("`..` is missing before `{}`", range.of(self.text)),
        );
        Box::new(
            problem
                .help("a range is written with both its ends, such as `1 .. 10`")
                .fix(Fix::replace(at, " ..", "Put `..` here")),
        )
    }

    fn choice(&mut self, choices: &'static [Choice], shape: Shape, context: Context<'_>) -> Read<Choice> {
        self.candidate(Candidate::Choice(choices));
        let written = self.peek_text();
        if let Some(choice) = choices.iter().find(|choice| choice.word() == written) {
            self.at += 1;
            self.note_choice(shape, context);
            return Ok(*choice);
        }
        let mut problem = self.wanted(context, Wanted::Shape(shape));
        if let Some(near) = nearest(written, choices.iter().map(|choice| choice.word())) {
            problem.fix = Some(Fix::replace(problem.range, near, format!("Write `{near}`")));
        }
        Err(problem)
    }

    fn number(&mut self, what: Wanted, context: Context<'_>) -> Read<(f64, TextRange)> {
        let Some(token) = self.peek().filter(|token| token.kind == TokenKind::Number) else {
            return Err(self.number_missing(what, context));
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
                format!("`{written}` is no number that can be used"),
            ))),
        }
    }

    fn number_missing(&self, what: Wanted, context: Context<'_>) -> Box<Problem> {
        let written = self.peek_text();
        match self
            .peek()
            .filter(|token| token.kind.is_word() && units::find(written).is_some())
        {
            Some(unit) if self.again().is_none() => {
                let problem = Problem::new(VALUE, unit.range, format!("the number is missing before `{written}`"));
                Box::new(problem.help(format!("`{}` wants {}", context.subject, what.words())))
            }
            _ => self.wanted(context, what),
        }
    }

    /// A number and its unit, whatever the dimension. `dimensions` are those that make sense.
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
            .and_then(|_| units::find(self.peek_text()))
        {
            self.at += 1;
            self.note_quantity(start, Some(self.at - 1), unit, context);
            return quantity_of(value, written, place, unit);
        }
        let mut problem = self.unit_problem(place, None, context);
        problem.help = Some(format!("wanted is {what}"));
        Err(problem)
    }

    pub(super) fn quantity(&mut self, dimension: Dimension, shape: Shape, context: Context<'_>) -> Read<Quantity> {
        let start = self.at;
        let (value, place) = self.number(Wanted::Shape(shape), context)?;
        self.unit(value, place, start, dimension, context)
    }

    fn unit_candidate(&self, dimension: Dimension, context: Context<'_>) {
        let is_difference = context.is_difference;
        self.candidate(Candidate::Unit {
            dimension,
            is_difference,
        });
    }

    fn unit(
        &mut self,
        value: f64,
        number: TextRange,
        start: usize,
        dimension: Dimension,
        context: Context<'_>,
    ) -> Read<Quantity> {
        self.unit_candidate(dimension, context);
        let word = self.peek().filter(|token| token.kind.is_word());
        let Some(unit) = word.and_then(|_| units::find(self.peek_text())) else {
            return Err(self.unit_problem(number, Some(dimension), context));
        };
        self.at += 1;
        self.note_quantity(start, Some(self.at - 1), unit, context);
        if unit.dimension != dimension {
            let range = self.read_range(start);
            let examples = some_units(dimension);
            return Err(Box::new(
                Problem::new(
                    ProblemId::UnitWrongDimension,
                    range,
                    format!(
                        "`{}` wants a {}, and `{}` is a {}",
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
                format!("`{}` is beyond what there can be", range.of(self.text)),
            )));
        }
        Ok(quantity)
    }

    /// Why there is no unit after `number`: it is missing, or it is a word that is no unit.
    fn unit_problem(&self, number: TextRange, dimension: Option<Dimension>, context: Context<'_>) -> Box<Problem> {
        if let Some(again) = self.again() {
            return again;
        }
        let word = self.peek().filter(|token| token.kind.is_word());
        let written = self.peek_text();
        let help = dimension.map(|dimension| format!("units of {} are {}", dimension.name(), some_units(dimension)));
        let is_other_word = field(context.siblings, written).is_some() || FOLLOWING.contains(&written);
        let mut problem = match word {
            Some(word) if !is_other_word => {
                let problem = Problem::new(
                    ProblemId::UnitUnknown,
                    word.range,
                    format!("`{written}` is no unit that is known here"),
                );
                match units::nearest(written, dimension) {
                    Some(near) => problem.meant(near.name),
                    None => problem,
                }
            }
            _ => Problem::new(
                ProblemId::UnitMissing,
                number,
                format!("`{}` has no unit", number.of(self.text)),
            ),
        };
        problem.help = help;
        Box::new(problem)
    }

    fn difference(&mut self, shape: Shape, context: Context<'_>) -> Read<Quantity> {
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
                        "`{}` is a difference of two pressures, and `{}` is counted from vacuum",
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
            _ => Some(self.unit(value, place, start, dimension, context)?),
        };
        self.candidate(Candidate::Dots);
        if self.next_if(|kind| kind == TokenKind::DotDot).is_none() {
            return Err(match self.peek().map(|token| token.kind) {
                Some(TokenKind::Number) => self.dots_missing(),
                _ => self.wanted(context, Wanted::OtherEnd(shape)),
            });
        }
        let second = self.quantity(dimension, shape, context)?;
        // `0 .. 15 psi` has one unit for both ends.
        let first = match first {
            Some(first) => first,
            None => {
                self.note_quantity(start, None, second.unit, context);
                quantity_of(value, place.of(self.text), place, second.unit)?
            }
        };
        Ok((first, second))
    }

    fn limit(&mut self, dimension: Dimension, shape: Shape, context: Context<'_>) -> Read<Limit> {
        self.candidate(Candidate::Level);
        let Some(level) = of_words::<Level>(self.peek_text()) else {
            return Err(self.wanted(context, Wanted::Shape(shape)));
        };
        self.at += 1;
        self.note_choice(shape, context);
        let value = self.quantity(dimension, Shape::Quantity(dimension), context)?;
        self.candidate(Candidate::Severity);
        let severity = of_words::<Severity>(self.peek_text());
        if severity.is_some() {
            self.at += 1;
            self.note_choice(shape, context);
        }
        let deadband = if self.candidate_word("deadband") {
            let context = Context {
                subject: "deadband",
                is_difference: true,
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

    fn place(&mut self, shape: Shape, context: Context<'_>) -> Read<At> {
        self.candidate(Candidate::Host);
        let Some((host, name)) = self.word() else {
            return Err(self.wanted(context, Wanted::Shape(shape)));
        };
        self.note_thing();
        self.inner_word_candidate(host, Key::Place);
        self.inner_word_candidate(host, Key::Branch);
        let mut at = At {
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
            self.note_inner(Key::Branch, host);
            self.inner_word_candidate(host, Key::Place);
            at.branch = Some(branch.into());
        }
        if self.word_is("place") {
            self.inner_candidate(host, Key::Place);
            let Some((place, _)) = self.word() else {
                return Err(self.wanted(context, Wanted::Words("the name of a place")));
            };
            self.note_inner(Key::Place, host);
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
                Wanted::Words("`compression`, `barb`, `push-in` or `thread` after the size"),
            ));
        };
        self.at += 1;
        self.note_choice(shape, context);
        if kind == FittingType::Thread {
            self.candidate(Candidate::Sex);
        }
        let sex = of_words::<Sex>(self.peek_text());
        if sex.is_some() {
            self.at += 1;
            self.note_choice(shape, context);
        }
        if (kind == FittingType::Thread) != sex.is_some() {
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

    fn link(&mut self, shape: Shape, context: Context<'_>) -> Read<Value> {
        self.candidate(Candidate::LinkKind);
        let Some(over) = LinkMedium::find(self.peek_text()) else {
            return Err(self.wanted(context, Wanted::Shape(shape)));
        };
        self.at += 1;
        self.note_choice(shape, context);
        Ok(Value::Link {
            over,
            to: self.text(Shape::Text, context)?.into(),
        })
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
            .map(Level::doc)
            .or_else(|| of_words(word).map(Severity::doc)),
        _ => None,
    }
}

/// Words that stand after a quantity within a field or a run.
const FOLLOWING: &[&str] = &[
    "deadband",
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

fn of_words<T: strum::VariantArray + Copy + Into<&'static str>>(written: &str) -> Option<T> {
    T::VARIANTS
        .iter()
        .copied()
        .find(|variant| Into::<&str>::into(*variant) == written)
}

/// The first few units of a dimension, for a message.
fn some_units(dimension: Dimension) -> String {
    const ENOUGH: usize = 6;
    let names: Vec<_> = dimension.units().take(ENOUGH).map(|unit| unit.name).collect();
    names.join(", ")
}

/// `12`, `-0.5`, `1e3`, `3/8`, `1-1/2`.
fn number(written: &str) -> Option<f64> {
    let value = match written.split_once('/') {
        None => written.parse().ok()?,
        Some((above, below)) => {
            let (whole, above) = above.split_once('-').unwrap_or(("0", above));
            let below: f64 = below.parse().ok()?;
            whole.parse::<f64>().ok()? + above.parse::<f64>().ok()? / below
        }
    };
    f64::is_finite(value).then_some(value)
}

/// The quantity that a number, in any spelling that is read, and a unit make. None where they make none.
pub fn quantity(written: &str, unit: &'static Unit) -> Option<Quantity> {
    if written.len() > LONGEST_NUMBER as usize {
        return None;
    }
    let value = number(written).or_else(|| gauge(written))?;
    quantity_of(value, written, TextRange::default(), unit).ok()
}

/// A number with its unit. `1/0` is a wire size and nothing else.
fn quantity_of(value: f64, written: &str, range: TextRange, unit: &'static Unit) -> Read<Quantity> {
    match (unit.scale, gauge(written)) {
        (Scale::AmericanWireGauge, Some(value)) => Ok(Quantity { value, unit }),
        (_, Some(_)) => Err(Box::new(Problem::new(
            VALUE,
            range,
            format!("`{written}` is a wire size in awg, and no number of {}", unit.name),
        ))),
        (_, None) => Ok(Quantity { value, unit }),
    }
}

/// `1/0` to `4/0`, which as wire sizes are no fractions: 0 to -3.
fn gauge(written: &str) -> Option<f64> {
    let (aughts, zero) = written.split_once('/')?;
    let aughts: f64 = aughts.parse().ok()?;
    (zero == "0").then_some(1.0 - aughts)
}

pub(super) fn unquoted(written: &str) -> String {
    let inner = written.strip_prefix('"').unwrap_or(written);
    let inner = inner.strip_suffix('"').unwrap_or(inner);
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

    #[test]
    fn quotes_and_escapes_go() {
        assert_eq!(unquoted(r#""say \"air\" \\""#), r#"say "air" \"#);
        assert_eq!(unquoted("\"open"), "open");
    }
}
