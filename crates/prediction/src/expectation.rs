//! What an office expects in states other than the normal one, held against what is computed there.

use drysheath_engineering::measure::{Flow, PneumaticResistance, Pressure};
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::Key;
use drysheath_office::line::position_at;
use drysheath_office::{
    At, End, Event, Expected, Fields, Happening, Limit, LimitLevel, Networks, Office, Setting, Signal, ThingId, Value,
    When,
};

use crate::air::{Air, Change, NoState, SectionOf, Spot};
use crate::line::Line;
use crate::minimum_pressure::{DefaultMinimums, MinimumPressure, minimum_pressure};

/// What became of something that is expected.
#[derive(Debug)]
pub enum Outcome<'a> {
    /// It holds.
    Holds,
    /// The pressure is lowest there, and lower than it should be.
    Below(Lowest<'a>),
    /// No least pressure is declared where one is expected to be kept.
    NoMinimum(&'a Line),
    /// The limits or contacts that do not pass as expected, or that may pass although none should.
    Alarms(Vec<AlarmReading>),
    /// A source is asked for more than it can give, so that the pressures are at most what is computed.
    Overloaded(ThingId),
    /// A figure that it needs is not known in that state.
    NotKnown,
}

/// Where the pressure of a state is least beside what it should be.
#[derive(Clone, Copy, Debug)]
pub struct Lowest<'a> {
    /// The cable, branch or pipe.
    pub line: &'a Line,
    /// Metres from its beginning.
    pub metres: f64,
    /// The pressure there.
    pub pressure: Pressure,
    /// What it should be above.
    pub least: Least,
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
    /// The limit.
    pub level: LimitLevel,
    /// The limit as it is written.
    pub limit: Quantity,
    /// What is computed at the sensor, in the unit of [`Office::figure`].
    pub reading: f64,
    /// How far the sensor may be off, in the same unit; nothing where it does not say.
    pub error: f64,
    /// What is measured.
    pub dimension: Dimension,
}

impl AlarmReading {
    /// Whether it is past the limit by more than the sensor can be off.
    pub fn surely_passes(&self, office: &Office) -> bool {
        self.past(office) > self.error
    }

    /// By how much the reading is past the limit; negative while it is not.
    fn past(&self, office: &Office) -> f64 {
        let beyond = self.reading - office.figure(self.limit);
        if self.level.is_low() { -beyond } else { beyond }
    }
}

/// What the events of a statement change. None where one of them has no place that is known.
pub fn changes(office: &Office, air: &Air, events: &[Event]) -> Option<Vec<Change>> {
    events.iter().map(|event| change(office, air, event)).collect()
}

fn change(office: &Office, air: &Air, event: &Event) -> Option<Change> {
    let thing = event.thing;
    Some(match &event.what {
        Happening::Stops => Change::Stops(thing),
        Happening::Opens => Change::Opens(thing),
        Happening::Closes => Change::Closes(thing),
        Happening::Leaks(flow, at) => Change::Leaks(spot(office, air, at)?, Flow::of(*flow)?),
        Happening::Breaks(at) => Change::Breaks(spot(office, air, at)?),
        Happening::Has(setting) => set(office, thing, setting)?,
    })
}

fn spot(office: &Office, air: &Air, at: &At) -> Option<Spot> {
    let position = position_at(office, at)?;
    let line = air.line_of(office, &position)?;
    // A place at the end may be a rounding beyond it.
    let metres = position.metres.min(line.length()?);
    Some(Spot {
        thing: line.thing,
        branch: line.branch,
        metres,
    })
}

fn set(office: &Office, thing: ThingId, setting: &Setting) -> Option<Change> {
    if setting.key == Key::Set {
        let pascals = office.gauge_pascals(setting.value);
        return Some(Change::Set(thing, Pressure::from_pascals(pascals)));
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
        Key::Usage => Some(Change::Usage(of, Flow::of(setting.value)?)),
        _ => Some(Change::Resistance(of, PneumaticResistance::of(setting.value)?)),
    }
}

/// The state that a statement is about.
pub(crate) fn state(office: &Office, networks: &Networks, air: &Air, when: &When) -> Result<Air, NoState> {
    let changes = changes(office, air, &when.events).ok_or(NoState::Missing(Vec::new()))?;
    air.in_state(office, networks, &changes)
}

/// Holds an expectation against a state.
pub fn outcome<'a>(
    office: &Office,
    networks: &Networks,
    practice: &DefaultMinimums,
    state: &'a Air,
    expected: &Expected,
) -> Outcome<'a> {
    match expected {
        Expected::Above(thing, least) => above(office, practice, state, *thing, *least),
        Expected::Passes(end, level) => passes(office, networks, state, end, Some(*level)),
        Expected::Trips(end) => passes(office, networks, state, end, None),
        Expected::NoAlarm => no_alarm(office, networks, state),
    }
}

fn above<'a>(
    office: &Office,
    practice: &DefaultMinimums,
    state: &'a Air,
    thing: Option<ThingId>,
    stated: Option<Quantity>,
) -> Outcome<'a> {
    // What is asked for more than it can give keeps no pressure.
    if let Some(dryer) = state.overloaded().next() {
        return Outcome::Overloaded(dryer);
    }
    let mut worst: Option<(f64, Lowest<'a>)> = None;
    let (mut is_any_declared, mut without) = (false, None);
    let lines = state
        .lines()
        .iter()
        .filter(|line| thing.is_none_or(|thing| line.thing == thing));
    for line in lines {
        for section in &line.sections {
            let least = match stated {
                Some(stated) => Some(Least::Stated(stated)),
                None => minimum_pressure(office, practice, line, section).map(Least::Declared),
            };
            let Some(least) = least else {
                without.get_or_insert(line);
                continue;
            };
            is_any_declared = true;
            let Some((metres, pressure)) = state.lowest(line, section) else {
                return Outcome::NotKnown;
            };
            let margin = pressure.pascals() - office.gauge_pascals(least.quantity());
            if worst.is_none_or(|(worst, _)| margin < worst) {
                let lowest = Lowest {
                    line,
                    metres,
                    pressure,
                    least,
                };
                worst = Some((margin, lowest));
            }
        }
    }
    match (worst, without) {
        (Some((margin, lowest)), _) if margin < 0.0 => Outcome::Below(lowest),
        // Of one thing by name, all of it must say what it needs; of all, what says nothing needs nothing.
        (_, Some(line)) if thing.is_some() || !is_any_declared => Outcome::NoMinimum(line),
        (Some(_), _) => Outcome::Holds,
        (None, _) => Outcome::NotKnown,
    }
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
    let dimension = signal.reads?;
    if limits.is_empty() || !matches!(dimension, Dimension::Pressure | Dimension::Flow) {
        return Some(Vec::new());
    }
    let location = state.location_of(office, networks, signal.thing)?;
    let reading = match dimension {
        Dimension::Pressure => state.pressure(&location)?.pascals(),
        _ => state.flow(&location)?.cubic_metres_per_second(),
    };
    let size = |key| signal.fields.quantity(key).map(|(size, _)| size.si().abs());
    let error = size(Key::Error).or(size(Key::Step)).unwrap_or(0.0);
    let of = |limit: &&Limit| AlarmReading {
        thing: signal.thing,
        number: signal.number,
        level: limit.level,
        limit: limit.value,
        reading,
        error,
        dimension,
    };
    Some(limits.iter().map(of).collect())
}

fn passes<'a>(
    office: &Office,
    networks: &Networks,
    state: &'a Air,
    end: &End,
    level: Option<LimitLevel>,
) -> Outcome<'a> {
    let is_it = |signal: &&Signal<'_>| {
        end.port.is_some_and(|port| std::ptr::eq(port, signal.port))
            && (signal.number == 0 || signal.number == end.numbers.0)
    };
    let signals = end.thing.map(|thing| office.signals(thing)).unwrap_or_default();
    let found = signals
        .iter()
        .find(is_it)
        .and_then(|signal| alarm_readings(office, networks, state, signal));
    let Some(mut found) = found else {
        return Outcome::NotKnown;
    };
    found.retain(|reading| level.is_none_or(|level| reading.level == level));
    if found.is_empty() {
        Outcome::NotKnown
    } else if found.iter().any(|reading| reading.surely_passes(office)) {
        Outcome::Holds
    } else {
        Outcome::Alarms(found)
    }
}

fn no_alarm<'a>(office: &Office, networks: &Networks, state: &'a Air) -> Outcome<'a> {
    if let Some(dryer) = state.overloaded().next() {
        return Outcome::Overloaded(dryer);
    }
    let mut alarms = Vec::new();
    for (id, _) in office.things() {
        for signal in office.signals(id) {
            let Some(found) = alarm_readings(office, networks, state, &signal) else {
                return Outcome::NotKnown;
            };
            // Surely not past: clear of the limit by what the sensor can be off.
            alarms.extend(
                found
                    .into_iter()
                    .filter(|reading| reading.past(office) > -reading.error),
            );
        }
    }
    if alarms.is_empty() {
        Outcome::Holds
    } else {
        Outcome::Alarms(alarms)
    }
}
