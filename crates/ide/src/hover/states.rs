//! Hovers of states other than the normal one.

use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, When};
use drysheath_prediction::{
    Air, AirState, ExpectationOutcome, alarm_readings, back_flow_note, line_name, outcome, relief_note,
};
use drysheath_syntax::Statement;

use super::Describer;
use crate::markup::{ColumnAlignment, Markup};

impl Describer<'_> {
    /// Describes the state of a `when` statement: lowest pressures, readings, and which expectations hold. `None` for
    /// other statements.
    pub(super) fn state(&self, statement: &Statement) -> Option<Markup> {
        let analysis = self.analysis;
        let office = analysis.present();
        let mut states = office.whens.iter().zip(&analysis.prediction.states);
        let (when, state) = states.find(|(when, _)| when.range == statement.range)?;
        let text = statement.range.of(&analysis.text);
        let mut markup = Markup::new(format!("`{}`", text.split_whitespace().collect::<Vec<_>>().join(" ")));
        self.comments(&mut markup, statement.range);
        match state {
            Ok(state) => {
                self.pressures(&mut markup, &state.air);
                self.readings_in(&mut markup, &state.air);
                self.expected_in(&mut markup, when, state);
            }
            Err(why) => {
                let why = why.reason(self.analysis.present());
                markup.fact(format!("not known: {why}"));
            }
        }
        Some(markup)
    }

    /// Adds the lowest pressure of each cable, branch and pipe, before and after.
    fn pressures(&self, markup: &mut Markup, state: &Air) {
        let normal = &self.analysis.prediction.air;
        let lowest = |air: &Air, at: usize| {
            let line = air.lines().get(at)?;
            let all: Option<Vec<_>> = line.sections.iter().map(|section| air.lowest(line, section)).collect();
            let pressures = all?.into_iter().map(|(_, pressure)| pressure.pascals());
            pressures.reduce(f64::min)
        };
        let shown = |air: &Air, at| self.units.show_or_dash(Dimension::Pressure, lowest(air, at));
        let office = self.analysis.present();
        let rows: Vec<Vec<String>> = normal
            .lines()
            .iter()
            .enumerate()
            .map(|(at, line)| vec![line_name(office, line), shown(normal, at), shown(state, at)])
            .collect();
        markup.table(
            &[
                ("lowest along", ColumnAlignment::Left),
                ("normal", ColumnAlignment::Right),
                ("then", ColumnAlignment::Right),
            ],
            &rows,
        );
    }

    /// Adds the readings of sensors with limits, and the limits that are passed.
    fn readings_in(&self, markup: &mut Markup, state: &Air) {
        let (office, networks) = (self.analysis.present(), &self.analysis.networks);
        let mut rows = Vec::new();
        for signal in office.things().flat_map(|(id, _)| office.signals(id)) {
            if !signal.fields.has(Key::Limit) {
                continue;
            }
            let alarms = alarm_readings(office, networks, state, &signal).unwrap_or_default();
            let Some(first) = alarms.first() else { continue };
            let passed: Vec<&str> = alarms
                .iter()
                .filter(|alarm| alarm.surely_passes(office))
                .map(|alarm| alarm.level.word())
                .collect();
            rows.push(vec![
                format!("`{}`", office.name(signal.thing)),
                self.show(first.dimension, first.reading),
                passed.join(", "),
            ]);
        }
        markup.table(
            &[
                ("sensor", ColumnAlignment::Left),
                ("reads", ColumnAlignment::Right),
                ("passes its limit", ColumnAlignment::Left),
            ],
            &rows,
        );
    }

    fn expected_in(&self, markup: &mut Markup, when: &When, state: &AirState) {
        let (office, networks) = (self.analysis.present(), &self.analysis.networks);
        for (source, supply) in state.air.at_capacity() {
            let asked = supply.asked.map_or_else(String::new, |asked| {
                format!(", and would have to give {} to hold its pressure", self.flow(asked))
            });
            markup.fact(format!(
                "`{}` gives all of the {} that it can{asked}",
                office.name(source),
                self.flow(supply.flow)
            ));
        }
        for source in &state.back_flow {
            markup.fact(back_flow_note(&format!("`{}`", office.name(*source))));
        }
        if let Some(regulator) = state.relieves() {
            markup.fact(relief_note(&format!("`{}`", office.name(regulator))));
        }
        let minimums = self.analysis.settings.minimums();
        for expected in &when.expected {
            let holds = match outcome(office, networks, &minimums, state, expected) {
                ExpectationOutcome::Holds => "holds".to_owned(),
                ExpectationOutcome::NotKnown | ExpectationOutcome::NoMinimum(..) => "is not known".to_owned(),
                ExpectationOutcome::Doubtful(doubt) => {
                    format!("is not known: {}", doubt.reason(self.analysis.present()))
                }
                ExpectationOutcome::NoTransient(why) => {
                    format!("is not known: {}", why.reason(self.analysis.present()))
                }
                ExpectationOutcome::Below(_) | ExpectationOutcome::Alarms(_) => "does not hold".to_owned(),
            };
            markup.fact(format!("`{}` {holds}", expected.range.of(&office.text)));
        }
    }
}
