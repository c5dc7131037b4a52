//! Sensors and contacts: what they should read, their spans, limits and margins.

use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Fields, Terminal, ThingId};
use drysheath_prediction::AirLocation;

use super::Teller;
use crate::card::{Card, Side};
use crate::sensing::{self, Sensed};
use crate::spoken;

impl Teller<'_> {
    /// What the device of a signal should read.
    pub(super) fn reading(&self, card: &mut Card, signal: &Terminal) {
        let office = &self.analysis.office;
        for sensed in sensing::signals(self.analysis, &self.units, signal.thing) {
            if std::ptr::eq(sensed.signal.port, signal.port)
                && let Some(short) = sensed.short()
            {
                card.fact(format!(
                    "`{}` should read {short} of its span",
                    office.name(signal.thing)
                ));
            }
        }
    }

    /// A sensor.
    pub(super) fn sensor(&self, card: &mut Card, id: ThingId) {
        self.stands(card, id);
        for sensed in sensing::signals(self.analysis, &self.units, id) {
            tell(card, &sensed);
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
}

/// A signal: what it should read, and its limits.
fn tell(card: &mut Card, sensed: &Sensed<'_>) {
    let of = sensed.word().map_or_else(String::new, |word| format!("`{word}` "));
    let span = sensed.span.map(|(from, to)| spoken::range(from, to));
    let span_of = span
        .as_ref()
        .map_or_else(String::new, |span| format!(" of its span `{span}`"));
    card.fact(match (sensed.short(), span) {
        (Some(short), _) => format!("{of}should read {short}{span_of}"),
        (None, Some(span)) => format!("{of}span `{span}`; what it should read cannot be computed yet"),
        (None, None) => format!("{of}its {} cannot be computed yet", sensed.measures()),
    });
    let rows: Vec<Vec<String>> = sensed
        .limits()
        .map(|kept| {
            let limit = kept.limit;
            vec![
                limit.level.word().to_owned(),
                limit.value.to_string(),
                limit.severity.map_or("-", |severity| severity.word()).to_owned(),
                kept.margin.map_or_else(|| "-".to_owned(), |margin| margin.to_string()),
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
