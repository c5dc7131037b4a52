//! What an office expects in states other than the normal one, held against what is computed there.

mod doubt;
mod over_time;

use drysheath_engineering::measure::{Flow, Length, PneumaticResistance, Pressure, Time};
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::Key;
use drysheath_office::line::position_at;
use drysheath_office::{
    End, Event, EventKind, Expectation, ExpectedCondition, FieldOverride, Fields, Limit, LimitLevel, Networks, Office,
    Signal, StatedPosition, ThingId, Timing, Value, When,
};

use crate::air::{
    Air, AirTransient, HeldBack, LinePoint, NetworkChange, PIECES_FOR_ALARMS, PIECES_FOR_HOLD_UP, SectionOf,
    StateError, StopCondition,
};
use crate::line::{Line, LineSection};
use crate::minimum_pressure::{DefaultMinimums, MinimumPressure, minimum_pressure};
pub use doubt::Doubt;
use over_time::OverTime;

/// The air of an office after something has happened.
pub struct AirState {
    /// Once its pressures have settled.
    pub air: Air,
    /// From the normal state on, where something is expected for or within a time: all ways in which it may come about. None where the state is known
    /// only within bounds, which have their own.
    transients: Vec<Result<AirTransient, StateError>>,
    /// The stopped sources that air may flow back into, which is not counted: see [`crate::back_flow_note`].
    pub back_flow: Vec<ThingId>,
    /// The courses that it is between where it is not known better, and why. What is expected must hold in all of them.
    bounds: Option<(Doubt, Vec<AirCourse>)>,
}

/// What a state may be, as if it were so.
struct AirCourse {
    /// Once its pressures have settled.
    air: Air,
    /// From the normal state on, where something is expected for or within a time: all ways in which it may come about.
    transients: Vec<Result<AirTransient, StateError>>,
}

/// What became of something that is expected.
#[derive(Debug)]
pub enum ExpectationOutcome<'a> {
    /// What is expected is so.
    Holds,
    /// The pressure is lowest there, and lower than it should be.
    Below(Lowest<'a>),
    /// No least pressure is declared where one is expected to be kept.
    NoMinimum(&'a Line, &'a LineSection),
    /// The limits or contacts that do not pass as expected, or that may pass although none should.
    Alarms(Vec<AlarmReading>),
    /// A figure that it needs is not known in that state.
    NotKnown,
    /// It holds at one end of what the state may be, and not at the other.
    Doubtful(Doubt),
    /// How the pressures change with time is not known.
    NoTransient(StateError),
}

/// Where the pressure of a state is least beside what it should be.
#[derive(Clone, Copy, Debug)]
pub struct Lowest<'a> {
    /// The cable, branch or pipe.
    pub line: &'a Line,
    /// Metres from its beginning.
    pub metres: f64,
    /// Gauge pressure there in the state.
    pub pressure: Pressure,
    /// What it should be above.
    pub least: Least,
    /// The time at which it is that; none where all has settled.
    pub after: Option<Time>,
    /// When it fell below what it should be above; none where all has settled, and where only that time counts.
    pub fell: Option<Time>,
}

impl Lowest<'_> {
    /// Whether it is too low as soon as something has happened, or was so before.
    pub fn is_at_once(&self) -> bool {
        self.fell.is_some_and(|fell| fell.seconds() < 1.0)
    }
}

/// What a pressure should be above.
#[derive(Clone, Copy, Debug)]
pub enum Least {
    /// The least pressure that is declared for the place.
    Declared(MinimumPressure),
    /// The pressure that the expectation states.
    Stated(Quantity),
}

impl Least {
    /// The pressure as it is written.
    pub fn quantity(&self) -> Quantity {
        match self {
            Self::Declared(minimum) => minimum.quantity,
            Self::Stated(quantity) => *quantity,
        }
    }
}

/// A limit and what its sensor reads in a state.
#[derive(Clone, Copy, Debug)]
pub struct AlarmReading {
    /// The sensor or dryer.
    pub thing: ThingId,
    /// The number of the signal among those of its port.
    pub number: u32,
    /// Level of the limit that is compared.
    pub level: LimitLevel,
    /// The limit as it is written.
    pub limit: Quantity,
    /// What is computed at the sensor, in the unit of [`Office::figure`].
    pub reading: f64,
    /// How far the sensor may be off, in the same unit; nothing where it does not say.
    pub error: f64,
    /// Dimension of the reading and of the limit.
    pub dimension: Dimension,
    /// The time at which it reads that; none where all has settled.
    pub after: Option<Time>,
}

impl AirState {
    /// The regulator that opens and whose relief may let air off, which is not counted in [`Self::air`].
    pub fn relieves(&self) -> Option<ThingId> {
        match self.bounds {
            Some((Doubt::Relieves(regulator), _)) => Some(regulator),
            _ => None,
        }
    }
}

/// That the relief of a regulator is not counted, for whoever reads figures of a state.
pub fn relief_note(regulator: &str) -> String {
    format!(
        "what the relief of {regulator} lets off is not counted: the pressures behind it are no higher than this, and may be lower"
    )
}

impl AlarmReading {
    /// Whether it is past the limit by more than the sensor can be off.
    pub fn surely_passes(&self, office: &Office) -> bool {
        self.past(office) > self.error
    }

    /// Whether it stays clear of the limit by what the sensor can be off.
    pub fn surely_stays_clear(&self, office: &Office) -> bool {
        self.past(office) <= -self.error
    }

    /// By how much the reading is past the limit; negative while it is not.
    fn past(&self, office: &Office) -> f64 {
        let beyond = self.reading - office.figure(self.limit);
        if self.level.is_low() { -beyond } else { beyond }
    }
}

/// What the events of a statement change. None where one of them has no place that is known.
pub fn changes(office: &Office, air: &Air, events: &[Event]) -> Option<Vec<NetworkChange>> {
    events.iter().map(|event| change(office, air, event)).collect()
}

fn change(office: &Office, air: &Air, event: &Event) -> Option<NetworkChange> {
    let thing = event.thing;
    Some(match &event.what {
        EventKind::Stops => NetworkChange::Stops(thing),
        EventKind::Opens => NetworkChange::Opens(thing),
        EventKind::Closes => NetworkChange::Closes(thing),
        EventKind::Leaks(size, at) => {
            let point = point(office, air, at)?;
            match Length::of(*size) {
                Some(bore) => NetworkChange::Hole(point, bore),
                None => NetworkChange::Leaks(point, Flow::of(*size)?),
            }
        }
        EventKind::Breaks(at) => NetworkChange::Breaks(point(office, air, at)?),
        EventKind::Has(setting) => set(office, thing, setting)?,
    })
}

fn point(office: &Office, air: &Air, at: &StatedPosition) -> Option<LinePoint> {
    let position = position_at(office, at)?;
    let line = air.line_of(office, &position)?;
    // A place at the end may be a rounding beyond it.
    let metres = position.metres.min(line.length()?);
    Some(LinePoint {
        thing: line.thing,
        branch: line.branch,
        metres,
    })
}

fn set(office: &Office, thing: ThingId, setting: &FieldOverride) -> Option<NetworkChange> {
    if setting.key == Key::Set {
        let pascals = office.gauge_pascals(setting.value);
        return Some(NetworkChange::Set(thing, Pressure::from_pascals(pascals)));
    }
    let fields = office.thing(thing);
    let named = |fields: &[drysheath_office::Field], key, wanted: Option<&str>| {
        let mut all = fields.named(key);
        all.position(|(name, ..)| Some(name) == wanted).map(|at| at as u32)
    };
    let branch = match &setting.branch {
        None => None,
        Some(branch) => Some(named(fields.fields(), Key::Branch, Some(branch))?),
    };
    let inside = match branch {
        None => fields.fields(),
        Some(branch) => fields.named(Key::Branch).nth(branch as usize)?.2,
    };
    let section = match &setting.section {
        None => 0,
        Some(section) => named(inside, Key::Section, Some(section))?,
    };
    let of = SectionOf { thing, branch, section };
    match setting.key {
        Key::Usage => Some(NetworkChange::Usage(of, Flow::of(setting.value)?)),
        _ => Some(NetworkChange::Resistance(of, PneumaticResistance::of(setting.value)?)),
    }
}

/// The state that a statement is about.
pub(crate) fn state(office: &Office, networks: &Networks, air: &Air, when: &When) -> Result<AirState, StateError> {
    let changes = changes(office, air, &when.events).ok_or(StateError::Missing(Vec::new()))?;
    let settled = air.in_state(office, networks, &changes)?;
    let followed = Followed::of(when);
    let bounds = doubt::bounds(office, networks, air, &settled, &changes, followed)?;
    // The bounds have courses of their own, one of them this one.
    let followed = followed.filter(|_| bounds.is_none());
    let open = [HeldBack::Only(Vec::new())];
    let transients = transients(office, networks, air, &changes, &open, followed);
    let stopped = changes.iter().filter_map(|change| match change {
        NetworkChange::Stops(source) => Some(*source),
        _ => None,
    });
    let back_flow = settled.back_flow(office, &stopped.collect::<Vec<_>>());
    Ok(AirState {
        air: settled,
        transients,
        back_flow,
        bounds,
    })
}

/// How a state is followed from the normal one.
#[derive(Clone, Copy)]
struct Followed {
    /// The longest time that is asked for, s.
    longest: f64,
    pieces: u8,
}

impl Followed {
    /// None where no time is asked for.
    fn of(when: &When) -> Option<Self> {
        let timed = when.expected.iter().filter(|expected| expected.timing.time().is_some());
        let is_reading = |expected: &Expectation| !matches!(expected.what, ExpectedCondition::Above(..));
        let pieces = if timed.clone().any(is_reading) {
            PIECES_FOR_ALARMS
        } else {
            PIECES_FOR_HOLD_UP
        };
        let seconds = timed.filter_map(|expected| expected.timing.time()).map(Quantity::si);
        seconds.reduce(f64::max).map(|longest| Self { longest, pieces })
    }
}

/// How a state comes about from the normal one, with each of some combinations of regulators held back. None where that is not asked for.
fn transients<'h>(
    office: &Office,
    networks: &Networks,
    normal: &Air,
    changes: &[NetworkChange],
    combinations: impl IntoIterator<Item = &'h HeldBack>,
    followed: Option<Followed>,
) -> Vec<Result<AirTransient, StateError>> {
    let Some(Followed { longest, pieces }) = followed else {
        return Vec::new();
    };
    let until = StopCondition {
        pieces,
        time: Time::from_seconds(longest),
        only: &[],
        least: &|_, _| None,
    };
    let follow = |held_back: &HeldBack| Ok(normal.over_time(office, networks, changes, held_back, &until)?.0);
    combinations.into_iter().map(follow).collect()
}

/// Holds an expectation against a state.
pub fn outcome<'a>(
    office: &Office,
    networks: &Networks,
    practice: &DefaultMinimums,
    state: &'a AirState,
    expected: &Expectation,
) -> ExpectationOutcome<'a> {
    let ways = |air: &'a Air, transients: &'a [Result<AirTransient, StateError>]| {
        let over_time = expected.timing.time().is_some() && !transients.is_empty();
        let settled = (!over_time).then_some(None);
        let over_time = transients.iter().filter(move |_| over_time).map(Some);
        let all = settled.into_iter().chain(over_time);
        all.map(move |transient| outcome_of(office, networks, practice, (air, transient), expected))
    };
    let found = match &state.bounds {
        None => ways(&state.air, &state.transients)
            .next()
            .unwrap_or(ExpectationOutcome::NotKnown),
        Some((doubt, courses)) => {
            let each = courses.iter().flat_map(|course| ways(&course.air, &course.transients));
            doubt::agreed(*doubt, expected, each)
        }
    };
    match doubt::undone_by_less(office, state, expected) {
        Some(doubt) if matches!(found, ExpectationOutcome::Holds) => ExpectationOutcome::Doubtful(doubt),
        _ => found,
    }
}

fn outcome_of<'a>(
    office: &Office,
    networks: &Networks,
    practice: &DefaultMinimums,
    (state, transient): (&'a Air, Option<&'a Result<AirTransient, StateError>>),
    expected: &Expectation,
) -> ExpectationOutcome<'a> {
    let over_time = expected.timing.time().zip(transient);
    if let Some((time, transient)) = over_time {
        let time = Time::from_seconds(time.si());
        let transient = match transient {
            Ok(transient) => transient,
            Err(why) => return ExpectationOutcome::NoTransient(why.clone()),
        };
        let over = OverTime {
            office,
            networks,
            practice,
            transient,
            time,
        };
        let is_for = matches!(expected.timing, Timing::For(_));
        return match &expected.what {
            ExpectedCondition::Above(thing, least) => over.above(*thing, *least, is_for),
            ExpectedCondition::Passes(end, level) => over.passes(end, Some(*level)),
            ExpectedCondition::Trips(end) => over.passes(end, None),
            ExpectedCondition::NoAlarm => over.no_alarm(),
        };
    }
    match &expected.what {
        ExpectedCondition::Above(thing, least) => above(office, practice, state, *thing, *least),
        ExpectedCondition::Passes(end, level) => passes(office, networks, state, end, Some(*level)),
        ExpectedCondition::Trips(end) => passes(office, networks, state, end, None),
        ExpectedCondition::NoAlarm => no_alarm(office, networks, state),
    }
}

fn above<'a>(
    office: &Office,
    practice: &DefaultMinimums,
    state: &'a Air,
    thing: Option<ThingId>,
    stated: Option<Quantity>,
) -> ExpectationOutcome<'a> {
    all_above(
        office,
        practice,
        state.lines(),
        (thing, stated),
        |line, section, least| {
            let known = state.lowest_known(line, section);
            let (metres, pressure) = known.ok_or(ExpectationOutcome::NotKnown)?;
            let margin = pressure.pascals() - office.gauge_pascals(least.quantity());
            if margin >= 0.0 && state.lowest(line, section).is_none() {
                return Err(ExpectationOutcome::NotKnown);
            }
            let lowest = Lowest {
                line,
                metres,
                pressure,
                least,
                after: None,
                fell: None,
            };
            Ok(Some((margin, lowest)))
        },
    )
}

/// Holds the pressures of sections against what they should be above: those of one thing by name, or of all. `lowest` finds the place of a section
/// that comes nearest to that or is farthest below, and its margin; an error is what becomes of the expectation where that is not known.
fn all_above<'a>(
    office: &Office,
    practice: &DefaultMinimums,
    lines: &'a [Line],
    (thing, stated): (Option<ThingId>, Option<Quantity>),
    lowest: impl Fn(&'a Line, &'a LineSection, Least) -> Result<Option<(f64, Lowest<'a>)>, ExpectationOutcome<'a>>,
) -> ExpectationOutcome<'a> {
    let mut worst: Option<(f64, Lowest<'a>)> = None;
    let (mut is_any_declared, mut without, mut not_known) = (false, None, None);
    let named = lines
        .iter()
        .filter(|line| thing.is_none_or(|thing| line.thing == thing));
    for (line, section) in named.flat_map(|line| line.sections.iter().map(move |section| (line, section))) {
        let least = match stated {
            Some(stated) => Some(Least::Stated(stated)),
            None => minimum_pressure(office, practice, line, section).map(Least::Declared),
        };
        let Some(least) = least else {
            without.get_or_insert((line, section));
            continue;
        };
        is_any_declared = true;
        match lowest(line, section, least) {
            Ok(found) => worst = [worst, found].into_iter().flatten().reduce(nearer),
            Err(outcome) => not_known = not_known.or(Some(outcome)),
        }
    }
    match (worst, without) {
        // One place is enough, whatever the others are.
        (Some((margin, lowest)), _) if margin < 0.0 => ExpectationOutcome::Below(lowest),
        _ if let Some(not_known) = not_known => not_known,
        // Of one thing by name, all of it must say what it needs; of all, what says nothing needs nothing.
        (_, Some((line, section))) if thing.is_some() || !is_any_declared => {
            ExpectationOutcome::NoMinimum(line, section)
        }
        (Some(_), _) => ExpectationOutcome::Holds,
        (None, _) => ExpectationOutcome::NotKnown,
    }
}

/// That with the smaller margin, or of equals the first.
fn nearer<'a>(one: (f64, Lowest<'a>), other: (f64, Lowest<'a>)) -> (f64, Lowest<'a>) {
    if other.0 < one.0 { other } else { one }
}

/// The limits of a signal with what it reads in a state. None where that is not known.
pub fn alarm_readings(
    office: &Office,
    networks: &Networks,
    state: &Air,
    signal: &Signal<'_>,
) -> Option<Vec<AlarmReading>> {
    let limits: Vec<&Limit> = signal
        .fields
        .iter()
        .filter_map(|field| match &field.value {
            Value::Limit(limit) => Some(&**limit),
            _ => None,
        })
        .collect();
    let air = signal
        .reads
        .filter(|dimension| matches!(dimension, Dimension::Pressure | Dimension::Flow));
    // What a contact without a set point shows, or a sensor of moisture, does not follow from pressures.
    let Some(dimension) = air.filter(|_| !limits.is_empty()) else {
        return Some(Vec::new());
    };
    let location = state.location_of(office, networks, signal.thing)?;
    let reading = match dimension {
        Dimension::Pressure => state.pressure(&location)?.pascals(),
        _ => state.flow(&location)?.cubic_metres_per_second(),
    };
    let of = |limit: &&Limit| alarm_reading(signal, limit, reading, dimension, None);
    Some(limits.iter().map(of).collect())
}

pub(crate) fn alarm_reading(
    signal: &Signal<'_>,
    limit: &Limit,
    reading: f64,
    dimension: Dimension,
    after: Option<Time>,
) -> AlarmReading {
    let size = |key| signal.fields.quantity(key).map(|(size, _)| size.si().abs());
    AlarmReading {
        thing: signal.thing,
        number: signal.number,
        level: limit.level,
        limit: limit.value,
        reading,
        error: size(Key::Error).or(size(Key::Step)).unwrap_or(0.0),
        dimension,
        after,
    }
}

/// The signal that an end names.
fn signal_of<'o>(office: &'o Office, end: &End) -> Option<Signal<'o>> {
    let is_it = |signal: &Signal<'_>| {
        end.port.is_some_and(|port| std::ptr::eq(port, signal.port))
            && (signal.number == 0 || signal.number == end.numbers.0)
    };
    office.signals(end.thing?).into_iter().find(is_it)
}

fn passes<'a>(
    office: &Office,
    networks: &Networks,
    state: &'a Air,
    end: &End,
    level: Option<LimitLevel>,
) -> ExpectationOutcome<'a> {
    let found = signal_of(office, end).and_then(|signal| alarm_readings(office, networks, state, &signal));
    let Some(mut found) = found else {
        return ExpectationOutcome::NotKnown;
    };
    found.retain(|reading| level.is_none_or(|level| reading.level == level));
    if found.is_empty() {
        ExpectationOutcome::NotKnown
    } else if found.iter().any(|reading| reading.surely_passes(office)) {
        ExpectationOutcome::Holds
    } else {
        ExpectationOutcome::Alarms(found)
    }
}

fn no_alarm<'a>(office: &Office, networks: &Networks, state: &'a Air) -> ExpectationOutcome<'a> {
    let (mut alarms, mut is_any_unknown) = (Vec::new(), false);
    for (id, _) in office.things() {
        for signal in office.signals(id) {
            let Some(found) = alarm_readings(office, networks, state, &signal) else {
                is_any_unknown = true;
                continue;
            };
            // Surely not past: clear of the limit by what the sensor can be off.
            alarms.extend(found.into_iter().filter(|reading| !reading.surely_stays_clear(office)));
        }
    }
    // One alarm is enough, whatever the others are.
    match (alarms.is_empty(), is_any_unknown) {
        (false, _) => ExpectationOutcome::Alarms(alarms),
        (true, true) => ExpectationOutcome::NotKnown,
        (true, false) => ExpectationOutcome::Holds,
    }
}
