//! Hovers of sensors and contacts: expected readings, spans, limits and margins.

use drysheath_explanation::SignalReading;
use drysheath_office::kinds::{HealthyState, Key, Role};
use drysheath_office::{Fields, Terminal, ThingId, UnitPreferences};
use drysheath_prediction::AirLocation;

use super::Describer;
use crate::explainer::explainer;
use crate::markup::{ColumnAlignment, Markup};
use crate::notation;

impl Describer<'_> {
    /// Adds the expected reading of a signal's device.
    pub(super) fn reading(&self, markup: &mut Markup, signal: &Terminal) {
        let office = &self.analysis.office;
        // Devices in another office are shown there.
        if !office.has(signal.thing) {
            return;
        }
        for reading in explainer(self.analysis).readings(signal.thing) {
            if std::ptr::eq(reading.signal.port, signal.port)
                && let Some(expected) = expected(&reading, &self.units)
            {
                markup.fact(format!(
                    "`{}` should read {expected} of its span",
                    office.name(signal.thing)
                ));
            }
        }
    }

    /// Adds location, readings and wiring of a sensor.
    pub(super) fn sensor(&self, markup: &mut Markup, id: ThingId) {
        self.location(markup, id);
        for reading in explainer(self.analysis).readings(id) {
            self.signal(markup, &reading);
        }
        self.carried_from(markup, id, None, None);
    }

    fn location(&self, markup: &mut Markup, id: ThingId) {
        let office = self.analysis.present();
        let place = self
            .analysis
            .prediction
            .air
            .location_of(office, &self.analysis.networks, id);
        if let Some(AirLocation::OnLine(line, metres)) = place {
            markup.fact(self.position(line, metres));
        }
    }

    /// Adds normal state, location and wiring of a contact.
    pub(super) fn contact(&self, markup: &mut Markup, id: ThingId) {
        self.healthy(markup, id);
        self.location(markup, id);
        self.carried_from(markup, id, None, None);
    }

    /// Adds the normal state of a contact, and what it reports.
    pub(super) fn healthy(&self, markup: &mut Markup, id: ThingId) {
        let thing = self.analysis.office.thing(id);
        if let Some(healthy) = thing.choice::<HealthyState>(Key::Healthy) {
            markup.fact(format!("{} while all is well", healthy.word()));
        }
        if let Some(reports) = thing.text(Key::Reports) {
            markup.fact(format!("reports `{reports}`"));
        }
    }

    /// Adds the contacts of a dryer, and where they are wired to.
    pub(super) fn contacts_of(&self, markup: &mut Markup, id: ThingId) {
        for signal in self.analysis.office.signals(id) {
            if matches!(signal.port.role, Role::Signal(_)) {
                self.carried_from(markup, id, Some(signal.port), Some(signal.number));
            }
        }
    }

    /// Adds a signal: its expected reading and its limits.
    fn signal(&self, markup: &mut Markup, reading: &SignalReading<'_>) {
        let of = reading.word().map_or_else(String::new, |word| format!("`{word}` "));
        let span = reading.span.map(|(from, to, _)| notation::range(from, to));
        let span_of = span
            .as_ref()
            .map_or_else(String::new, |span| format!(" of its span `{span}`"));
        markup.fact(match (expected(reading, &self.units), span) {
            (Some(expected), _) => format!("{of}should read {expected}{span_of}"),
            (None, Some(span)) => format!("{of}span `{span}`; what it should read cannot be computed yet"),
            (None, None) => format!("{of}its {} cannot be computed yet", reading.dimension.name()),
        });
        let rows: Vec<Vec<String>> = reading
            .limits
            .iter()
            .map(|own| {
                let margin = reading.shown_margin(own, &self.units);
                vec![
                    own.limit.level.word().to_owned(),
                    own.limit.value.to_string(),
                    own.limit.severity.map_or("-", |severity| severity.word()).to_owned(),
                    margin.map_or_else(|| "-".to_owned(), |margin| margin.to_string()),
                ]
            })
            .collect();
        let columns = [
            ("limit", ColumnAlignment::Left),
            ("at", ColumnAlignment::Right),
            ("severity", ColumnAlignment::Left),
            ("margin", ColumnAlignment::Right),
        ];
        markup.table(&columns, &rows);
    }
}

/// The expected reading and its position in the span: "8.23 psi, 82 %".
pub(crate) fn expected(reading: &SignalReading<'_>, units: &UnitPreferences) -> Option<String> {
    let expected = reading.shown(units)?;
    Some(match reading.span_part() {
        Some(part) => format!("{expected}, {:.0} %", part * 100.0),
        None => expected.to_string(),
    })
}
