//! Sensors and contacts: what they should read, their spans, limits and margins.

use drysheath_explanation::Reading;
use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Fields, Terminal, ThingId, UnitPreferences};
use drysheath_prediction::AirLocation;

use super::Teller;
use crate::card::{Card, Side};
use crate::spoken;

impl Teller<'_> {
    /// What the device of a signal should read.
    pub(super) fn reading(&self, card: &mut Card, signal: &Terminal) {
        let office = &self.analysis.office;
        for reading in self.analysis.explainer().readings(signal.thing) {
            if std::ptr::eq(reading.signal.port, signal.port)
                && let Some(expected) = expected(&reading, &self.units)
            {
                card.fact(format!(
                    "`{}` should read {expected} of its span",
                    office.name(signal.thing)
                ));
            }
        }
    }

    /// A sensor.
    pub(super) fn sensor(&self, card: &mut Card, id: ThingId) {
        self.stands(card, id);
        for reading in self.analysis.explainer().readings(id) {
            self.signal(card, &reading);
        }
        self.carried_from(card, id, None, None);
    }

    fn stands(&self, card: &mut Card, id: ThingId) {
        let office = &self.analysis.office;
        let place = self
            .analysis
            .prediction
            .air
            .place_of(office, &self.analysis.networks, id);
        if let Some(AirLocation::OnRoute(line, metres)) = place {
            card.fact(format!("stands {}", self.spot(line, metres)));
        }
    }

    /// A contact.
    pub(super) fn contact(&self, card: &mut Card, id: ThingId) {
        let thing = self.analysis.office.thing(id);
        if let Some(healthy) = thing.choice(Key::Healthy) {
            card.fact(format!("{healthy} while all is well"));
        }
        if let Some(reports) = thing.text(Key::Reports) {
            card.fact(format!("reports `{reports}`"));
        }
        self.stands(card, id);
        self.carried_from(card, id, None, None);
    }

    /// The contacts of a dryer, and where they are wired to.
    pub(super) fn contacts_of(&self, card: &mut Card, id: ThingId) {
        for signal in self.analysis.office.signals(id) {
            if matches!(signal.port.role, Role::Signal(_)) {
                self.carried_from(card, id, Some(signal.port), Some(signal.number));
            }
        }
    }

    /// A signal: what it should read, and its limits.
    fn signal(&self, card: &mut Card, reading: &Reading<'_>) {
        let of = reading.word().map_or_else(String::new, |word| format!("`{word}` "));
        let span = reading.span.map(|(from, to, _)| spoken::range(from, to));
        let span_of = span
            .as_ref()
            .map_or_else(String::new, |span| format!(" of its span `{span}`"));
        card.fact(match (expected(reading, &self.units), span) {
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
            ("limit", Side::Left),
            ("at", Side::Right),
            ("severity", Side::Left),
            ("margin", Side::Right),
        ];
        card.table(&columns, &rows);
    }
}

/// The expected reading and where in the span it lies: "8.23 psi, 82 %".
pub(crate) fn expected(reading: &Reading<'_>, units: &UnitPreferences) -> Option<String> {
    let expected = reading.shown(units)?;
    Some(match reading.span_part() {
        Some(part) => format!("{expected}, {:.0} %", part * 100.0),
        None => expected.to_string(),
    })
}
