//! States other than the normal one, beside it.

use drysheath_engineering::measure::{Flow, Pressure, Time};
use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::KindId;
use drysheath_office::{Thing, ThingId, When};
use drysheath_prediction::{
    Air, AirState, AlarmReading, ExpectationOutcome, Line, StateError, alarm_readings, bottles_last, outcome,
};
use drysheath_text::TextRange;

use super::compose::{OfficeView, regulator_word};
use super::record::{
    AtCapacityRecord, ExpectationRecord, StateBottlesRecord, StateLineRecord, StateRecord, StateRegulatorRecord,
    StateSensorRecord, UnmetRecord, line_as_asked, si_unit,
};

impl OfficeView<'_> {
    /// What becomes of the office in each state that it expects something of.
    pub(super) fn states(&self) -> Vec<StateRecord> {
        let states = self.office.whens.iter().zip(&self.prediction.states);
        states.map(|(when, state)| self.state(when, state)).collect()
    }

    /// What happens in a state, as it is written.
    pub fn events(&self, when: &When) -> String {
        let events = when.events.iter().map(|event| event.range);
        let range = events.reduce(TextRange::cover).unwrap_or(when.range);
        range.of(&self.office.text).to_owned()
    }

    fn state(&self, when: &When, state: &Result<AirState, StateError>) -> StateRecord {
        let said = |range: TextRange| range.of(&self.office.text).to_owned();
        let mut record = StateRecord {
            when: self.events(when),
            place: self.place(self.office.place(when.range)),
            not_known: None,
            at_capacity: Vec::new(),
            back_flow: Vec::new(),
            relieves: None,
            bottles: Vec::new(),
            lines: Vec::new(),
            regulators: Vec::new(),
            sensors: Vec::new(),
            expected: Vec::new(),
        };
        let state = match state {
            Ok(state) => state,
            Err(why) => {
                record.not_known = Some(why.reason(self.office));
                return record;
            }
        };
        let sources = state.air.at_capacity().map(|(source, supply)| AtCapacityRecord {
            name: self.office.name(source).to_owned(),
            flow_m3_per_s: supply.flow.cubic_metres_per_second(),
            asked_m3_per_s: supply.asked.map(Flow::cubic_metres_per_second),
        });
        record.at_capacity = sources.collect();
        let back_flow = state.back_flow.iter();
        record.back_flow = back_flow.map(|source| self.office.name(*source).to_owned()).collect();
        record.relieves = state.relieves().map(|regulator| self.office.name(regulator).to_owned());
        record.bottles = self.state_bottles(&state.air);
        record.lines = self.state_lines(&state.air);
        record.regulators = self.state_regulators(&state.air);
        record.sensors = self.state_sensors(&state.air);
        let minimums = self.settings.minimums();
        let expected = when.expected.iter().map(|expected| {
            let outcome = outcome(self.office, self.networks, &minimums, state, expected);
            ExpectationRecord {
                what: said(expected.range),
                holds: match outcome {
                    ExpectationOutcome::Holds => Some(true),
                    ExpectationOutcome::NotKnown
                    | ExpectationOutcome::Doubtful(_)
                    | ExpectationOutcome::NoMinimum(..)
                    | ExpectationOutcome::NoTransient(_) => None,
                    ExpectationOutcome::Below(_) | ExpectationOutcome::Alarms(_) => Some(false),
                },
                unmet: self.unmet(&outcome),
            }
        });
        record.expected = expected.collect();
        record
    }

    /// The figures for which an expectation does not hold.
    fn unmet(&self, outcome: &ExpectationOutcome<'_>) -> Vec<UnmetRecord> {
        let office = self.office;
        match outcome {
            ExpectationOutcome::Below(lowest) => vec![UnmetRecord {
                name: line_as_asked(office.name(lowest.line.thing), lowest.line.branch_name(office)),
                distance_m: Some(lowest.metres),
                unit: si_unit(Dimension::Pressure).to_owned(),
                computed: lowest.pressure.pascals(),
                bound: office.gauge_pascals(lowest.least.quantity()),
                after_s: lowest.after.map(Time::seconds),
                below_after_s: lowest.fell.map(Time::seconds),
            }],
            ExpectationOutcome::Alarms(readings) => {
                let unmet = |reading: &AlarmReading| UnmetRecord {
                    name: office.name(reading.thing).to_owned(),
                    distance_m: None,
                    unit: si_unit(reading.dimension).to_owned(),
                    computed: reading.reading,
                    bound: office.figure(reading.limit),
                    after_s: reading.after.map(Time::seconds),
                    below_after_s: None,
                };
                readings.iter().map(unmet).collect()
            }
            _ => Vec::new(),
        }
    }

    /// The lowest pressure of each cable, branch and pipe, before and after.
    fn state_lines(&self, state: &Air) -> Vec<StateLineRecord> {
        let normal = &self.prediction.air;
        let lowest = |air: &Air, thing, branch| {
            let mut lines = air.lines().iter();
            let line = lines.find(|line| line.thing == thing && line.branch == branch)?;
            let sections = line.sections.iter().map(|section| air.lowest(line, section));
            let all = sections.collect::<Option<Vec<_>>>()?;
            all.into_iter()
                .min_by(|(_, one), (_, other)| one.pascals().total_cmp(&other.pascals()))
        };
        let line = |line: &Line| {
            let before = lowest(normal, line.thing, line.branch);
            let after = lowest(state, line.thing, line.branch);
            StateLineRecord {
                name: line_as_asked(self.office.name(line.thing), line.branch_name(self.office)),
                normal_pa: before.map(|(_, pressure)| pressure.pascals()),
                pressure_pa: after.map(|(_, pressure)| pressure.pascals()),
                distance_m: after.map(|(metres, _)| metres),
            }
        };
        normal.lines().iter().map(line).collect()
    }

    /// The regulators that air reaches.
    fn state_regulators(&self, state: &Air) -> Vec<StateRegulatorRecord> {
        let regulator = |(id, _): (ThingId, &Thing)| {
            // What passes one out of regulation is not known, but that it is.
            let regulator_state = match state.regulator_state(id) {
                Some(found) => Some(found),
                None => state.through(id)?.regulator,
            };
            let outlet = state.outlet(id);
            // Where the outlet is known, it is the pressure before the regulator that is not.
            let bounds = state.outlet_bounds(id).filter(|_| outlet.is_none());
            Some(StateRegulatorRecord {
                name: self.office.name(id).to_owned(),
                outlet_pa: outlet.map(Pressure::pascals),
                outlet_least_pa: bounds.and_then(|bounds| bounds.least).map(Pressure::pascals),
                outlet_most_pa: bounds.map(|bounds| bounds.most.pascals()),
                state: regulator_state.map(|state| regulator_word(state).to_owned()),
            })
        };
        self.office.of_kind(KindId::Regulator).filter_map(regulator).collect()
    }

    /// The bottles that give air, and how long full ones do.
    fn state_bottles(&self, state: &Air) -> Vec<StateBottlesRecord> {
        let banks = self.office.of_kind(KindId::Bottle);
        let giving = banks.filter_map(|(id, bank)| {
            let flow = state.supply(id)?.flow;
            (flow.cubic_metres_per_second() > 0.0).then(|| StateBottlesRecord {
                name: self.office.name(id).to_owned(),
                flow_m3_per_s: flow.cubic_metres_per_second(),
                lasts_s: bottles_last(bank, flow).map(Time::seconds),
            })
        });
        giving.collect()
    }

    /// What the sensors of pressure and flow read, before and after, and which of their limits are passed.
    fn state_sensors(&self, state: &Air) -> Vec<StateSensorRecord> {
        let (office, networks) = (self.office, self.networks);
        let explainer = self.explainer();
        let mut records = Vec::new();
        for signal in office.things().flat_map(|(id, _)| office.signals(id)) {
            let Some(reading) = explainer.reading(signal) else {
                continue;
            };
            let location = |air: &Air| -> Option<f64> {
                let place = air.location_of(office, networks, signal.thing)?;
                match reading.dimension {
                    Dimension::Pressure => Some(air.pressure(&place)?.pascals()),
                    Dimension::Flow => Some(air.flow(&place)?.cubic_metres_per_second()),
                    _ => None,
                }
            };
            // A contact without a set point tells nothing of the pressure.
            if signal.dimension.is_none() && reading.limits.is_empty() {
                continue;
            }
            let (normal, after) = (location(&self.prediction.air), location(state));
            if normal.is_none() && after.is_none() {
                continue;
            }
            let alarms = alarm_readings(office, networks, state, &signal).unwrap_or_default();
            let is_past = |alarm: &&AlarmReading| alarm.surely_passes(office);
            records.push(StateSensorRecord {
                name: office.name(signal.thing).to_owned(),
                signal: signal.called(),
                unit: si_unit(reading.dimension).to_owned(),
                step: reading.step(),
                normal,
                reading: after,
                passes: alarms
                    .iter()
                    .filter(is_past)
                    .map(|alarm| alarm.level.word().to_owned())
                    .collect(),
            });
        }
        records
    }
}
