//! Expectations with a time: `for` and `within`.

use drysheath_engineering::measure::Time;
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::{End, Limit, LimitLevel, Networks, Office, Signal, ThingId, Value};

use super::{AlarmReading, ExpectationOutcome, Least, Lowest, alarm_reading, all_above, nearer, signal_of};
use crate::air::{AirTransient, StateError};
use crate::line::Line;
use crate::minimum_pressure::DefaultMinimums;

/// Evaluates expectations against the course of pressures over a time.
pub(super) struct OverTime<'a, 'o> {
    pub office: &'o Office,
    pub networks: &'o Networks,
    pub practice: &'o DefaultMinimums,
    pub transient: &'a AirTransient,
    pub time: Time,
}

impl<'a> OverTime<'a, '_> {
    /// Whether pressures stay above their minimum for the whole time, or are above it at the end.
    pub fn above(
        &self,
        thing: Option<ThingId>,
        stated: Option<Quantity>,
        all_the_time: bool,
    ) -> ExpectationOutcome<'a> {
        let lines = self.transient.lines();
        all_above(
            self.office,
            self.practice,
            lines,
            (thing, stated),
            |line, section, least| {
                let places = line.marks_of(section);
                let places = places.map(|metres| self.margin(line, metres, least, all_the_time));
                let places = places.collect::<Result<Vec<_>, _>>()?;
                Ok(places.into_iter().reduce(nearer))
            },
        )
    }

    /// Margin of a place above its minimum, or, if it falls below, the time by which it falls too early.
    fn margin(
        &self,
        line: &'a Line,
        metres: f64,
        least: Least,
        all_the_time: bool,
    ) -> Result<(f64, Lowest<'a>), ExpectationOutcome<'a>> {
        let pressure = self.transient.pressure_along(line, metres, self.time);
        let pressure = pressure.ok_or_else(|| unknown(self.transient.why_unknown(line)))?;
        let floor = self.office.gauge_pascals(least.quantity());
        let location = crate::AirLocation::OnLine(line, metres);
        let below = |time| Some(floor - self.transient.pressure_along(line, metres, time)?.pascals());
        let fell = if all_the_time {
            self.transient.first(&location, below)
        } else {
            None
        };
        let fell = fell.filter(|fell| *fell <= self.time);
        let mut lowest = Lowest {
            line,
            metres,
            pressure,
            least,
            after: Some(self.time),
            fell,
        };
        // Of places that fall below, the first to fall is the worst, and of those that are below from the beginning the one that is farthest
        // below; otherwise the one with the least margin.
        let margin = match fell {
            Some(fell) if lowest.is_at_once() => {
                let first = self.transient.pressure_along(line, metres, fell);
                lowest.pressure = first.unwrap_or(pressure);
                lowest.after = Some(fell);
                lowest.pressure.pascals() - floor - self.time.seconds() - 1.0
            }
            Some(fell) => fell.seconds() - self.time.seconds() - 1.0,
            None => pressure.pascals() - floor,
        };
        Ok((margin, lowest))
    }

    /// Whether a limit or contact is certain to pass before the time is over.
    pub fn passes(&self, end: &End, level: Option<LimitLevel>) -> ExpectationOutcome<'a> {
        let Some(signal) = signal_of(self.office, end) else {
            return ExpectationOutcome::NotKnown;
        };
        let mut late = Vec::new();
        for limit in limits(&signal).filter(|limit| level.is_none_or(|level| limit.level == level)) {
            match self.first(&signal, limit, |reading| reading.surely_passes(self.office)) {
                Err(why) => return unknown(why),
                Ok((Some(_), _)) => return ExpectationOutcome::Holds,
                Ok((None, last)) => late.push(last),
            }
        }
        if late.is_empty() {
            ExpectationOutcome::NotKnown
        } else {
            ExpectationOutcome::Alarms(late)
        }
    }

    /// Whether all limits and contacts are certain to stay clear until the time is over.
    pub fn no_alarm(&self) -> ExpectationOutcome<'a> {
        let (mut alarms, mut not_known) = (Vec::new(), None);
        for (id, _) in self.office.things() {
            for signal in self.office.signals(id) {
                for limit in limits(&signal) {
                    match self.first(&signal, limit, |reading| !reading.surely_stays_clear(self.office)) {
                        Err(why) => not_known = not_known.or(Some(unknown(why))),
                        Ok((Some(alarm), _)) => alarms.push(alarm),
                        Ok((None, _)) => {}
                    }
                }
            }
        }
        // One alarm is enough, whatever the others are.
        match (alarms.is_empty(), not_known) {
            (false, _) => ExpectationOutcome::Alarms(alarms),
            (true, Some(not_known)) => not_known,
            (true, None) => ExpectationOutcome::Holds,
        }
    }

    /// The first reading that satisfies `is_so`, and the last reading. The error is the reason why the readings are not
    /// known.
    fn first(
        &self,
        signal: &Signal<'_>,
        limit: &Limit,
        is_so: impl Fn(&AlarmReading) -> bool,
    ) -> Result<(Option<AlarmReading>, AlarmReading), Option<&StateError>> {
        let dimension = signal.reads.ok_or(None)?;
        let location = self
            .transient
            .location_of(self.office, self.networks, signal.thing)
            .ok_or(None)?;
        let read = |time: Time| {
            let reading = match dimension {
                Dimension::Pressure => self.transient.pressure(&location, time)?.pascals(),
                _ => self.transient.flow(&location, time)?.cubic_metres_per_second(),
            };
            Some(alarm_reading(signal, limit, reading, dimension, Some(time)))
        };
        let last = read(self.time).ok_or_else(|| self.transient.why_unknown_at(&location))?;
        let figure = |time: Time| Some(if is_so(&read(time)?) { 1.0 } else { -1.0 });
        let first = self.transient.first(&location, figure);
        let first = first.filter(|time| *time <= self.time).and_then(read);
        Ok((first, last))
    }
}

fn unknown<'a>(why: Option<&StateError>) -> ExpectationOutcome<'a> {
    why.map_or(ExpectationOutcome::NotKnown, |why| {
        ExpectationOutcome::NoTransient(why.clone())
    })
}

/// The limits of a signal that air pressure or flow can pass.
fn limits<'s>(signal: &'s Signal<'_>) -> impl Iterator<Item = &'s Limit> {
    let of_air = matches!(signal.reads, Some(Dimension::Pressure | Dimension::Flow));
    signal
        .fields
        .iter()
        .filter(move |_| of_air)
        .filter_map(|field| match &field.value {
            Value::Limit(limit) => Some(&**limit),
            _ => None,
        })
}
