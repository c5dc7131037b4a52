//! Reads what must hold in states other than the normal one: `when d1 stops expect all above minimum`.

use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_syntax::{self as syntax, Medium, TokenSpan, Tree};
use drysheath_text::TextRange;

use super::Lowering;
use super::candidates::Candidate;
use super::end_problems::{another_statement, list, list_or};
use super::ends::{EndReader, ReadEnd, bare_port};
use super::reader::{Context, Read, Reader, VALUE, Wanted};
use super::shapes::of_words;
use crate::kinds::{FieldSpec, Key, Kind, KindId, Role, Shape, domain, field};
use crate::line;
use crate::model::ThingId;
use crate::problem::{Problem, ProblemId};
use crate::semantics::Meaning;
use crate::spelling::{nearest, with_article};
use crate::value::{Fields, LimitLevel, StatedPosition, Value};
use crate::when::{Event, EventKind, Expectation, ExpectedCondition, FieldOverride, Timing, UnreadWhen, When};

const STOPS: &str = "stops";
const OPENS: &str = "opens";
const CLOSES: &str = "closes";
const LEAKS: &str = "leaks";
const BREAKS: &str = "breaks";
const HAS: &str = "has";
const ALL: &str = "all";
const ABOVE: &str = "above";
const MINIMUM: &str = "minimum";
const TRIPS: &str = "trips";
const NO: &str = "no";
const ALARM: &str = "alarm";
const FOR: &str = "for";
const WITHIN: &str = "within";

/// What can be said to happen to a thing of a kind.
pub fn possible_events(kind: &Kind) -> &'static [&'static str] {
    match kind.id {
        KindId::Dryer | KindId::Bottle => &[STOPS],
        KindId::Valve => &[OPENS, CLOSES],
        KindId::Regulator => &[OPENS, CLOSES, HAS],
        KindId::Cable | KindId::AirPipe => &[LEAKS, BREAKS, HAS],
        _ => &[],
    }
}

/// Whether something can be expected of a thing of a kind.
pub fn can_be_expected(kind: &Kind) -> bool {
    matches!(kind.id, KindId::Cable | KindId::AirPipe)
        || kind
            .ports_in(Medium::Wire)
            .any(|port| matches!(port.role, Role::Signal(signal) if signal.reads().is_some()))
}

impl Lowering<'_> {
    /// The states of one statement. None where something in it is not known, which a problem reports.
    pub(super) fn when(&self, written: &syntax::When, range: TextRange) -> (Option<When>, Vec<Problem>) {
        let ends = self.end_reader();
        let (mut problems, mut whole) = (Vec::new(), true);
        let mut keep = |read: Read<bool>| match read {
            Ok(is_known) => whole &= is_known,
            Err(problem) => {
                whole = false;
                problems.push(*problem);
            }
        };
        let (mut events, mut expected) = (Vec::new(), Vec::new());
        for items in &written.events {
            let event = ends.event(self.tree, *items);
            keep(event.map(|event| event.map(|event| events.push(event)).is_some()));
        }
        for (at, event) in events.iter().enumerate() {
            let earlier = events.get(..at).unwrap_or_default();
            if let Some(earlier) = earlier.iter().find(|earlier: &&Event| earlier.excludes(event)) {
                keep(Err(excluded(self.text, earlier, event)));
            }
        }
        for items in &written.expected {
            let found = ends.expectation(self.tree, *items);
            keep(found.map(|found| found.map(|found| expected.push(found)).is_some()));
        }
        let when = When {
            events,
            expected,
            range,
        };
        (whole.then_some(when), problems)
    }

    /// What is left of a statement that gives no states.
    pub(super) fn unread_when(&self, written: &syntax::When, range: TextRange, is_reported: bool) -> UnreadWhen {
        let events = written.events.iter().map(|items| self.tree.items_range(*items));
        UnreadWhen {
            events: events.reduce(TextRange::cover).unwrap_or(range),
            expected: written.expected.len(),
            is_reported,
        }
    }
}

/// The problem of two events of one state that cannot both be.
fn excluded(text: &str, earlier: &Event, event: &Event) -> Box<Problem> {
    let [earlier, later] = [earlier.range, event.range].map(|range| range.of(text));
    let (message, help) = if earlier == later {
        (format!("`{later}` is written twice"), "delete one of them")
    } else if matches!(event.what, EventKind::Breaks(_)) {
        let message = format!("`{earlier}` and `{later}` are the same break");
        (message, "delete one of them")
    } else {
        let message = format!("`{earlier}` and `{later}` cannot both be in one state");
        (message, "write a `when` for each of them")
    };
    Box::new(Problem::new(VALUE, event.range, message).help(help))
}

impl EndReader<'_> {
    /// What happens, as one clause says. None where its thing is not known, which another problem reports.
    pub(super) fn event(&self, tree: &Tree, items: TokenSpan) -> Read<Option<Event>> {
        let mut reader = self.reader(tree, items);
        let event = self.read_event(&mut reader);
        let Some((thing, what)) = event.inspect_err(|_| reader.annotate_rest(None, ""))? else {
            return Ok(None);
        };
        let range = tree.items_range(items);
        if let EventKind::Leaks(_, at) | EventKind::Breaks(at) = &what {
            self.is_on(thing, at, range)?;
        }
        Ok(Some(Event { thing, what, range }))
    }

    pub(super) fn read_event(&self, reader: &mut Reader<'_>) -> Read<Option<(ThingId, EventKind)>> {
        let mut read = ReadEnd::new(TextRange::default());
        let kind = self.thing(reader, &mut read)?;
        let name = reader.last();
        let Some((kind, thing)) = kind.zip(read.end.thing) else {
            return Ok(None);
        };
        let verbs = possible_events(kind);
        if verbs.is_empty() {
            let message = format!(
                "nothing can happen to {} that changes the air",
                with_article(kind.word())
            );
            let help = "say it of a dryer, bottle, valve, regulator, cable or air pipe";
            return Err(Box::new(Problem::new(VALUE, name, message).help(help)));
        }
        let setting = self.section_named(thing, kind, reader)?;
        let is_of_section = setting.is_some();
        let verbs = if is_of_section { &[HAS][..] } else { verbs };
        // Of a cable only a section has other figures.
        let is_offered = |verb: &&&str| **verb != HAS || is_of_section || kind.id != KindId::Cable;
        for verb in verbs.iter().filter(is_offered) {
            reader.candidate(Candidate::Word(verb));
        }
        let Some(verb) = verbs.iter().find(|verb| **verb == reader.peek_text()) else {
            return Err(self.verb_missing(verbs, name, reader));
        };
        reader.next();
        reader.annotate(Meaning::Keyword);
        let what = match *verb {
            STOPS => EventKind::Stops,
            OPENS => EventKind::Opens,
            CLOSES => EventKind::Closes,
            LEAKS => {
                let context = Context {
                    domain: Some(&domain::LEAK),
                    ..Context::of(LEAKS)
                };
                let bore = (Dimension::Length, &domain::HOLE_BORE);
                let size = reader.either(Dimension::Flow, bore, context)?;
                EventKind::Leaks(size, self.place_on(thing, name, LEAKS, reader)?)
            }
            BREAKS => EventKind::Breaks(self.place_on(thing, name, BREAKS, reader)?),
            _ => EventKind::Has(self.field_override(thing, kind, setting.unwrap_or_default(), reader)?),
        };
        self.nothing_more_said(reader)?;
        Ok(Some((thing, what)))
    }

    fn verb_missing(&self, verbs: &[&str], name: TextRange, reader: &Reader<'_>) -> Box<Problem> {
        let name = name.of(self.text);
        let verbs_or = list_or(verbs);
        let Some(found) = reader.peek() else {
            let message = format!("what happens to `{name}` is missing: {verbs_or}");
            return Box::new(Problem::new(VALUE, reader.last(), message));
        };
        if let Some(problem) = reader.again().or_else(|| another_statement(self.text, reader)) {
            return problem;
        }
        let written = found.range.of(self.text);
        let message = format!("expected {verbs_or} after `{name}`, found `{written}`");
        let problem = Problem::new(VALUE, found.range, message);
        Box::new(match nearest(written, verbs.iter().copied()) {
            Some(near) => problem.meant(near),
            None => problem,
        })
    }

    /// `branch b1 section s2`, `section s2`: the names.
    fn section_named(&self, thing: ThingId, kind: &Kind, reader: &mut Reader<'_>) -> Read<Option<SectionNames>> {
        if kind.id != KindId::Cable {
            return Ok(None);
        }
        let host = self.office.name(thing).to_owned();
        let mut names = SectionNames::default();
        reader.inner_word_candidate(&host, Key::Branch);
        if reader.word_is(Key::Branch.word()) {
            names.branch = Some(self.inner_name(thing, &host, Key::Branch, reader)?);
        }
        reader.inner_word_candidate(&host, Key::Section);
        if reader.word_is(Key::Section.word()) {
            let mut branches = self.office.thing(thing).named(Key::Branch);
            match &names.branch {
                None => reader.inner_candidate(&host, Key::Section),
                Some(branch) => {
                    if let Some(number) = branches.position(|(name, ..)| *name == **branch) {
                        reader.candidate(Candidate::SectionOf(thing, number));
                    }
                }
            }
            let Some((section, range)) = reader.word() else {
                return Err(reader.wanted(Context::of("section"), Wanted::Words("the name of a section")));
            };
            reader.annotate_inner(Key::Section, &host);
            let of = self.office.thing(thing);
            let known = line::sections(of, names.branch.as_deref());
            let known: Vec<&str> = known.into_iter().flatten().map(|(name, _)| name).collect();
            if !known.contains(&section) && !of.damaged {
                return Err(unknown_inner(&host, Key::Section, section, range, &known));
            }
            names.section = Some(section.into());
        }
        if names.branch.is_some() && names.section.is_none() {
            return Err(reader.wanted(Context::of("branch"), Wanted::Words("`section` and its name")));
        }
        Ok(names.section.is_some().then_some(names))
    }

    fn inner_name(&self, thing: ThingId, host: &str, key: Key, reader: &mut Reader<'_>) -> Read<Box<str>> {
        reader.inner_candidate(host, key);
        let Some((name, range)) = reader.word() else {
            return Err(reader.wanted(Context::of(key.word()), Wanted::Words("a name")));
        };
        reader.annotate_inner(key, host);
        let of = self.office.thing(thing);
        let known: Vec<&str> = of.named(key).map(|(name, ..)| name).collect();
        if !known.contains(&name) && !of.damaged {
            return Err(unknown_inner(host, key, name, range, &known));
        }
        Ok(name.into())
    }

    /// `set 8 psi`, `usage 5 scfh`, `resistance 0.3 psi/scfh/kft`.
    fn field_override(
        &self,
        thing: ThingId,
        kind: &'static Kind,
        of: SectionNames,
        reader: &mut Reader<'_>,
    ) -> Read<FieldOverride> {
        let (specs, keys): (&'static [FieldSpec], &[Key]) = match kind.id {
            KindId::Regulator => (kind.fields, &[Key::Set]),
            KindId::AirPipe => (kind.fields, &[Key::Usage]),
            _ => (sections_of(kind), &[Key::Usage, Key::Resistance]),
        };
        if kind.id == KindId::Cable && of.section.is_none() {
            let message = format!("say which section of `{}` it is", self.office.name(thing));
            let help = "write `section` and its name before `has`";
            return Err(Box::new(Problem::new(VALUE, reader.last(), message).help(help)));
        }
        let words: Vec<&str> = keys.iter().map(|key| key.word()).collect();
        for key in keys {
            reader.candidate(Candidate::Word(key.word()));
        }
        let spec = field(specs, reader.peek_text()).filter(|spec| keys.contains(&spec.key));
        let Some(spec) = spec else {
            let message = format!("only {} can be another in a state", list_or(&words));
            return Err(Box::new(Problem::new(
                VALUE,
                reader.peek().map_or(reader.last(), |found| found.range),
                message,
            )));
        };
        reader.next();
        reader.annotate(Meaning::Field { spec, kind });
        let context = Context {
            domain: spec.domain(),
            ..Context::of(spec.word())
        };
        let value = reader.shape(spec.shape, context)?;
        let Value::Quantity(value) = value else {
            return Err(reader.wanted(context, Wanted::Shape(spec.shape)));
        };
        Ok(FieldOverride {
            branch: of.branch,
            section: of.section,
            key: spec.key,
            value,
        })
    }

    /// `at 2.1 km`, `at place mh-4`, `at branch b1 300 m`.
    fn place_on(&self, thing: ThingId, name: TextRange, verb: &str, reader: &mut Reader<'_>) -> Read<StatedPosition> {
        if !reader.candidate_word("at") {
            let wanted = Wanted::Words("`at` and a distance or a place, as in `at 2.1 km`,");
            return Err(reader.wanted(Context::of(verb), wanted));
        }
        let host = self.office.name(thing).to_owned();
        let context = Context {
            domain: Some(&domain::DISTANCE),
            ..Context::of("at")
        };
        let mut at = reader.position_on_line(&host, name, context)?;
        at.thing = Some(thing);
        Ok(at)
    }

    /// Whether a place is on its cable or pipe.
    fn is_on(&self, thing: ThingId, at: &StatedPosition, range: TextRange) -> Read<()> {
        let of = self.office.thing(thing);
        if of.damaged {
            return Ok(());
        }
        let host = self.office.name(thing);
        for (key, name) in [(Key::Branch, &at.branch), (Key::Place, &at.place)] {
            let known: Vec<&str> = of.named(key).map(|(name, ..)| name).collect();
            if let Some(name) = name.as_deref().filter(|name| !known.contains(name)) {
                return Err(unknown_inner(host, key, name, range, &known));
            }
        }
        let length = line::length(of, at.branch.as_deref());
        let Some((distance, length)) = at.distance.zip(length) else {
            return Ok(());
        };
        // As for places of sensors: half a metre of rounding is none.
        if distance.si() <= length + 0.5 {
            return Ok(());
        }
        let shown = line::shown_length(of, at.branch.as_deref(), length);
        let message = format!("{distance} is beyond the end of `{host}`, which is {shown} long");
        Err(Box::new(Problem::new(ProblemId::ValueImplausible, range, message)))
    }

    /// What is expected, as one clause says. None where its thing is not known, which another problem reports.
    pub(super) fn expectation(&self, tree: &Tree, items: TokenSpan) -> Read<Option<Expectation>> {
        let mut reader = self.reader(tree, items);
        let what = self.read_expectation(&mut reader, tree.items_range(items));
        let what = what.inspect_err(|_| reader.annotate_rest(None, ""))?;
        let range = tree.items_range(items);
        Ok(what.map(|(what, timing)| Expectation { what, timing, range }))
    }

    pub(super) fn read_expectation(
        &self,
        reader: &mut Reader<'_>,
        range: TextRange,
    ) -> Read<Option<(ExpectedCondition, Timing)>> {
        let mut read = ReadEnd::new(range);
        reader.candidate(Candidate::Word(ALL));
        reader.candidate(Candidate::Word(NO));
        let is_name = self.office.named(reader.peek_text()).is_some();
        let what = if !is_name && reader.word_is(NO) {
            if !reader.candidate_word(ALARM) {
                return Err(reader.wanted(Context::of(NO), Wanted::Words("`alarm`")));
            }
            ExpectedCondition::NoAlarm
        } else if !is_name && reader.word_is(ALL) {
            ExpectedCondition::Above(None, self.least(reader)?)
        } else {
            let Some((kind, thing)) = self.thing(reader, &mut read)?.zip(read.end.thing) else {
                return Ok(None);
            };
            if matches!(kind.id, KindId::Cable | KindId::AirPipe) {
                ExpectedCondition::Above(Some(thing), self.least(reader)?)
            } else {
                self.alarm_of(kind, reader, &mut read)?
            }
        };
        let timing = timing(&what, reader)?;
        self.nothing_more_said(reader)?;
        Ok(Some((what, timing)))
    }

    /// `above minimum`, `above 2 psi`: none for the declared least pressures.
    fn least(&self, reader: &mut Reader<'_>) -> Read<Option<Quantity>> {
        if !reader.candidate_word(ABOVE) {
            return Err(reader.wanted(
                Context::of("expect"),
                Wanted::Words("`above minimum` or `above` and a pressure"),
            ));
        }
        if reader.candidate_word(MINIMUM) {
            return Ok(None);
        }
        let context = Context {
            domain: domain::signal(Dimension::Pressure),
            ..Context::of(ABOVE)
        };
        let start = reader.peek().map_or(reader.last(), |token| token.range);
        let shape = Shape::Quantity(Dimension::Pressure);
        let least = reader.quantity(Dimension::Pressure, shape, context)?;
        if self.office.gauge_pascals(least) > 0.0 {
            return Ok(Some(least));
        }
        let range = start.cover(reader.last());
        let message = format!("{least} is no more than the pressure of the surrounding air, which a cut cable has too");
        let help = "expect a pressure above that, or `minimum`";
        Err(Box::new(
            Problem::new(ProblemId::ValueImplausible, range, message).help(help),
        ))
    }

    /// `low-low` of a sensor, `trips` of a contact with a set point.
    fn alarm_of(&self, kind: &'static Kind, reader: &mut Reader<'_>, read: &mut ReadEnd) -> Read<ExpectedCondition> {
        if !can_be_expected(kind) {
            let message = format!("nothing about air can be expected of {}", with_article(kind.word()));
            let help = "name a cable, an air pipe, or a sensor or contact with a limit; or write `all` or `no alarm`";
            return Err(Box::new(Problem::new(VALUE, reader.last(), message).help(help)));
        }
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
        let dimension = port.and_then(|port| match port.role {
            Role::Signal(signal) => Some(signal.dimension),
            _ => None,
        });
        let Some(dimension) = dimension else {
            let words: Vec<_> = kind.ports_in(Medium::Wire).map(|port| port.word).collect();
            let message = format!("say which signal it is: {}", list(&words));
            return Err(Box::new(Problem::new(VALUE, reader.last(), message)));
        };
        if dimension.is_none() {
            if !reader.candidate_word(TRIPS) {
                return Err(reader.wanted(Context::of("expect"), Wanted::Words("`trips` after a contact")));
            }
            return self.has_limit(read, None).map(|()| ExpectedCondition::Trips(read.end));
        }
        match self.limits_of(read) {
            Some(levels) if !levels.is_empty() => {
                for level in levels {
                    reader.candidate(Candidate::Word(level.word()));
                }
            }
            _ => reader.candidate(Candidate::Level),
        }
        let Some(level) = of_words::<LimitLevel>(reader.peek_text()) else {
            let wanted = Wanted::Words("`low-low`, `low`, `high` or `high-high`");
            return Err(reader.wanted(Context::of("expect"), wanted));
        };
        reader.next();
        reader.annotate(Meaning::Choice(level.doc()));
        self.has_limit(read, Some(level))?;
        Ok(ExpectedCondition::Passes(read.end, level))
    }

    /// The limits of the signal that an end names. None where there is none.
    fn limits_of(&self, read: &ReadEnd) -> Option<Vec<LimitLevel>> {
        let number = read.end.numbers.0;
        let is_it = |signal: &crate::model::Signal<'_>| {
            let is_port = read.end.port.is_some_and(|port| std::ptr::eq(port, signal.port));
            is_port && (signal.number == 0 || signal.number == number)
        };
        let signal = self.office.signals(read.end.thing?).into_iter().find(is_it)?;
        let limits = signal.fields.iter().filter_map(|field| match &field.value {
            Value::Limit(limit) => Some(limit.level),
            _ => None,
        });
        Some(limits.collect())
    }

    /// Whether the signal has that limit; any where none is named.
    fn has_limit(&self, read: &ReadEnd, level: Option<LimitLevel>) -> Read<()> {
        let (Some(thing), Some(limits)) = (read.end.thing, self.limits_of(read)) else {
            return Ok(());
        };
        let has = limits.iter().any(|limit| level.is_none_or(|level| *limit == level));
        if has || self.office.thing(thing).damaged {
            return Ok(());
        }
        let name = self.office.name(thing);
        let message = match level {
            Some(level) => format!("`{name}` has no limit `{}` that could be passed", level.word()),
            None => format!("this contact of `{name}` has no `limit`, so that nothing tells when it changes"),
        };
        let help = "declare the limit, or expect another one";
        Err(Box::new(
            Problem::new(ProblemId::NameUnknown, read.end.range, message).help(help),
        ))
    }

    fn nothing_more_said(&self, reader: &Reader<'_>) -> Read<()> {
        reader.candidate(Candidate::Onward);
        let Some(rest) = reader.rest() else { return Ok(()) };
        if let Some(problem) = reader.again().or_else(|| another_statement(self.text, reader)) {
            return Err(problem);
        }
        let message = format!("unexpected `{}`", rest.of(self.text));
        let help = "separate what happens at once, and what is expected, by commas";
        Err(Box::new(Problem::new(VALUE, rest, message).help(help)))
    }
}

/// The names of a section, and of the branch that it is on.
#[derive(Default)]
struct SectionNames {
    branch: Option<Box<str>>,
    section: Option<Box<str>>,
}

fn unknown_inner(host: &str, key: Key, name: &str, range: TextRange, known: &[&str]) -> Box<Problem> {
    let message = format!("`{host}` has no {} named `{name}`", key.word());
    let problem = Problem::new(ProblemId::NameUnknown, range, message);
    Box::new(match nearest(name, known.iter().copied()) {
        Some(near) => problem.help(format!("is `{near}` meant?")),
        None => problem,
    })
}

/// `for 6 h`, `within 4 h`, or nothing. `no alarm` can hold for a time; an alarm can only come within one.
fn timing(what: &ExpectedCondition, reader: &mut Reader<'_>) -> Read<Timing> {
    let (can_last, can_come) = match what {
        ExpectedCondition::Above(..) => (true, true),
        ExpectedCondition::NoAlarm => (true, false),
        ExpectedCondition::Passes(..) | ExpectedCondition::Trips(_) => (false, true),
    };
    let words = [(FOR, can_last), (WITHIN, can_come)];
    for (word, fits) in words {
        if fits {
            reader.candidate(Candidate::Word(word));
        }
    }
    let Some((word, fits)) = words.into_iter().find(|(word, _)| *word == reader.peek_text()) else {
        return Ok(Timing::Settled);
    };
    let at = reader.peek().map_or(reader.last(), |token| token.range);
    if !fits {
        let (message, help) = if word == FOR {
            (
                "an alarm is expected `within` a time, not `for` one",
                "write `within` and the time in which it should come",
            )
        } else {
            (
                "that no alarm comes can be expected for a time, not within one",
                "write `for` and how long none should come",
            )
        };
        return Err(Box::new(Problem::new(VALUE, at, message.to_owned()).help(help)));
    }
    reader.word_is(word);
    let context = Context {
        domain: Some(&domain::HELD_TIME),
        ..Context::of(word)
    };
    let time = reader.quantity(Dimension::Time, Shape::Quantity(Dimension::Time), context)?;
    Ok(if word == FOR {
        Timing::For(time)
    } else {
        Timing::Within(time)
    })
}

/// What can be said of the section of a cable.
fn sections_of(kind: &'static Kind) -> &'static [FieldSpec] {
    let section = kind.fields.iter().find(|spec| spec.key == Key::Section);
    section.map_or(&[], FieldSpec::inner)
}
