//! Reads readings noted at commissioning or on a visit.

use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_syntax::{self as syntax, Fix, Medium};
use drysheath_text::TextRange;

use super::Lowering;
use super::candidates::Candidate;
use super::ends::{EndReader, ReadEnd, bare_port};
use super::outdated::renamed;
use super::reader::{Context, Read, Reader, VALUE, Wanted};
use crate::date::Date;
use crate::kinds::former_words;
use crate::kinds::{DewPointSurface, Domain, HealthyState, Key, Kind, KindId, Role, SURROUNDINGS, Shape, domain};
use crate::model::{Decay, Measured, Reading, Spanned};
use crate::problem::{Problem, ProblemId};
use crate::spelling::with_article;
use crate::value::{Fields, Value};

/// Cables were first pressurized in the 1920s (common practice, no source).
const FIRST_YEAR: u16 = 1920;

impl Lowering<'_> {
    /// Reads a reading, and the problem of an outdated word in it. No reading if the name of its thing is unknown,
    /// which another problem reports.
    pub(super) fn reading(
        &self,
        written: &syntax::Reading,
        range: TextRange,
    ) -> Read<(Option<Reading>, Option<Box<Problem>>)> {
        let place = self.tree.range(written.date);
        let Some(day) = Date::read(place.of(self.text)) else {
            let message = format!("there is no such date as {}", place.of(self.text));
            return Err(Box::new(Problem::new(VALUE, place, message)));
        };
        if day.year < FIRST_YEAR {
            let message = format!(
                "a reading of the year {} is older than any cable under pressure",
                day.year
            );
            let problem = Problem::new(ProblemId::ValueImplausible, place, message);
            return Err(Box::new(problem.help("check the year")));
        }
        let ends = self.end_reader();
        let mut read = ReadEnd::new(self.tree.items_range(written.items));
        let mut reader = ends.reader(self.tree, written.items);
        let measured = ends.measured(&mut reader, &mut read)?;
        let reading = measured.filter(|_| read.sound).map(|measured| Reading {
            date: Spanned {
                value: day,
                range: place,
            },
            of: read.end,
            measured,
            range,
        });
        Ok((reading, read.problem))
    }
}

impl EndReader<'_> {
    pub(super) fn measured(&self, reader: &mut Reader<'_>, read: &mut ReadEnd) -> Read<Option<Measured>> {
        let Some(kind) = self.thing(reader, read)? else {
            return Ok(None);
        };
        let is_cable = kind.id == KindId::Cable;
        let load = kind.ports.iter().find(|port| port.role == Role::Load);
        let measured = if is_cable && reader.candidate_word("decay") {
            let (decay, outdated) = decay(reader)?;
            read.problem = outdated;
            Measured::Decay(decay)
        } else if let Some(port) = load
            && reader.candidate_word("supply")
        {
            read.annotate_port(port, reader);
            Measured::Supply(quantity(
                reader,
                Dimension::Voltage,
                "supply",
                Some(&domain::SUPPLY_READING),
            )?)
        } else if kind.gives_air() && reader.candidate_word("dew-point") {
            dew_point(reader)?
        } else if let Some(port) = kind.ports.iter().find(|port| port.role == Role::Tap)
            && reader.candidate_word(port.word)
        {
            let word = reader.last();
            read.annotate_port(port, reader);
            self.numbers(port, word, reader, read)?;
            read.end.port = Some(port);
            let domain = domain::signal(Dimension::Pressure);
            Measured::Gauge(quantity(reader, Dimension::Pressure, "reading", domain)?)
        } else if let Some(surroundings) = SURROUNDINGS
            .into_iter()
            .find(|key| is_cable && reader.candidate_word(key.word()))
        {
            self.lies_in(surroundings, reader.last(), read)?;
            let domain = Some(&domain::AIR_TEMPERATURE);
            Measured::Temperature(
                surroundings,
                quantity(reader, Dimension::Temperature, surroundings.word(), domain)?,
            )
        } else {
            self.of_signal(kind, reader, read)?
        };
        self.nothing_more(reader)?;
        Ok(Some(measured))
    }

    /// Checks that a cable has a section in these surroundings, possibly in a branch.
    fn lies_in(&self, surroundings: Key, word: TextRange, read: &mut ReadEnd) -> Read<()> {
        let Some(cable) = read.end.thing.map(|id| self.office.thing(id)) else {
            return Ok(());
        };
        let branches = cable.named(Key::Branch).map(|(_, _, fields)| fields);
        let lines = std::iter::once(cable.fields()).chain(branches);
        let mut sections = lines.flat_map(|fields| fields.named(Key::Section));
        if sections.any(|(_, _, section)| section.has(surroundings)) {
            return Ok(());
        }
        if cable.damaged {
            read.sound = false;
            return Ok(());
        }
        let message = format!(
            "no section of `{}` is {}",
            cable.name.of(self.text),
            surroundings.word()
        );
        Err(Box::new(Problem::new(VALUE, word, message).help(
            "the temperature of the air in a cable is read for the surroundings that its sections state",
        )))
    }

    /// Reads a signal's value, or the resistance of its loop.
    fn of_signal(&self, kind: &'static Kind, reader: &mut Reader<'_>, read: &mut ReadEnd) -> Read<Measured> {
        reader.candidate(Candidate::Port);
        let named = kind
            .ports_in(Medium::Wire)
            .find(|port| matches!(port.role, Role::Signal(_)) && port.word == reader.peek_text());
        let port = match named {
            Some(port) => {
                let word = reader.next().map_or(reader.last(), |token| token.range);
                read.annotate_port(port, reader);
                self.has_signal(port, kind, word, read)?;
                self.numbers(port, word, reader, read)?;
                Some(port)
            }
            None => bare_port(kind, Medium::Wire, false),
        };
        read.end.port = port;
        if port.is_some() {
            reader.candidate(Candidate::Word("loop"));
        }
        if reader.word_is("loop") {
            return quantity(reader, Dimension::Resistance, "loop", Some(&domain::LOOP_READING)).map(Measured::Loop);
        }
        let dimension = port.and_then(|port| match port.role {
            Role::Signal(signal) => signal.dimension,
            _ => None,
        });
        if let Some(port) = port.filter(|port| dimension.is_none() && matches!(port.role, Role::Signal(_))) {
            let states = HealthyState::ALL;
            let state = reader.choice(states, Shape::Choice(states), Context::of(port.word))?;
            let state = HealthyState::try_from(state);
            return state
                .map(Measured::State)
                .map_err(|_| Box::new(Problem::new(VALUE, reader.last(), "a contact is `open` or `closed`")));
        }
        match dimension {
            Some(dimension) => quantity(reader, dimension, "reading", domain::signal(dimension)).map(Measured::Signal),
            None => Err(Box::new(
                Problem::new(
                    VALUE,
                    reader.last(),
                    format!("{} has no such reading", with_article(kind.word())),
                )
                .help(
                    "a reading is a sensor's signal or a contact's state, `loop` of a signal, `supply` of a monitor, `dew-point` of a \
                     dryer, or of a cable `decay`, `place` and a pressure, or `underground`, `buried` or `aerial` and the temperature of \
                     the air in it",
                ),
            )),
        }
    }
}

/// Reads `-42 degC over ice`.
fn dew_point(reader: &mut Reader<'_>) -> Read<Measured> {
    let context = Context {
        domain: Some(&domain::DELIVERED_DEW_POINT),
        ..Context::of("dew-point")
    };
    match reader.dew_point(Shape::DewPoint, context)? {
        Value::DewPoint(temperature, surface) => Ok(Measured::DewPoint(
            temperature,
            surface.unwrap_or(DewPointSurface::Water),
        )),
        _ => Err(reader.wanted(context, Wanted::Shape(Shape::DewPoint))),
    }
}

fn quantity(
    reader: &mut Reader<'_>,
    dimension: Dimension,
    subject: &str,
    domain: Option<&'static Domain>,
) -> Read<Quantity> {
    let context = Context {
        domain,
        ..Context::of(subject)
    };
    reader.quantity(dimension, Shape::Quantity(dimension), context)
}

/// The problem of `12 min 30 s`: a time has one unit.
fn second_time(reader: &Reader<'_>, start: usize, first: Quantity) -> Option<Box<Problem>> {
    let mut ahead = reader.ahead();
    let second = quantity(&mut ahead, Dimension::Time, "decay", None).ok()?;
    let whole = ahead.read_range(start);
    let in_second = Quantity {
        value: (first.si() + second.si()) / second.unit.to_si(1.0),
        unit: second.unit,
    };
    let message = format!("`{}` is one time in two units", whole.of(reader.text));
    let better = in_second.to_string();
    let fix = Fix::replace(whole, better.clone(), format!("Write `{better}`"));
    Some(Box::new(
        Problem::new(VALUE, whole, message)
            .help(format!("write `{better}`"))
            .fix(fix),
    ))
}

/// Reads `10 psi .. 9.5 psi over 12 min`, with `at 70 degF .. 65 degF` where the temperature changed, and the problem
/// of an outdated word in it.
fn decay(reader: &mut Reader<'_>) -> Read<(Decay, Option<Box<Problem>>)> {
    let of = |domain| Context {
        domain: Some(domain),
        ..Context::of("decay")
    };
    let context = of(&domain::DECAY_PRESSURE);
    let pressures = reader.range(Dimension::Pressure, Shape::Range(Dimension::Pressure), context)?;
    let mut outdated = None;
    if !reader.candidate_word(former_words::DECAY_TIME.now) {
        if !reader.word_is(former_words::DECAY_TIME.word) {
            let wanted = Wanted::Words("`over` and how long it took, such as `over 12 min`");
            return Err(reader.wanted(context, wanted));
        }
        outdated = Some(Box::new(renamed(
            former_words::DECAY_TIME.word,
            former_words::DECAY_TIME.now,
            reader.last(),
        )));
    }
    let start = reader.at;
    let during = quantity(reader, Dimension::Time, "decay", Some(&domain::DECAY_TIME))?;
    if let Some(problem) = second_time(reader, start, during) {
        return Err(problem);
    }
    let temperatures = if reader.candidate_word("at") {
        let context = of(&domain::CABLE_TEMPERATURE);
        Some(reader.range(Dimension::Temperature, Shape::Range(Dimension::Temperature), context)?)
    } else {
        None
    };
    let decay = Decay {
        pressures,
        during,
        temperatures,
    };
    Ok((decay, outdated))
}
