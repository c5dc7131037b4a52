//! What a sensor should read, and how that lies to its span and limits.

use drysheath_engineering::units::{Dimension, Quantity, Unit};
use drysheath_office::kinds::{Key, Role, SignalSource};
use drysheath_office::{Fields, Limit, Office, Signal, ThingId, UnitPreferences, rounded};

use drysheath_text::Place;

use crate::analysis::Analysis;

/// One signal of a sensor and its figures, all in one unit.
pub(crate) struct Sensed<'a> {
    pub signal: Signal<'a>,
    unit: &'static Unit,
    office: &'a Office,
    /// What it should read, if that can be computed.
    pub expected: Option<Quantity>,
    /// What it can read.
    pub span: Option<(Quantity, Quantity)>,
}

/// A limit, and what the reading should have to it.
pub(crate) struct Kept<'a> {
    pub limit: &'a Limit,
    pub place: Place,
    /// In the unit of the reading, below nothing where the limit is passed.
    pub margin: Option<Quantity>,
}

/// The signals of a sensor that measure something.
pub(crate) fn signals<'a>(analysis: &'a Analysis, units: &UnitPreferences, sensor: ThingId) -> Vec<Sensed<'a>> {
    let office = &analysis.office;
    let is_sensor = office
        .thing(sensor)
        .kind
        .is_some_and(drysheath_office::kinds::Kind::is_sensor);
    if !is_sensor {
        return Vec::new();
    }
    let signals = office.signals(sensor).into_iter();
    signals
        .filter_map(|signal| Sensed::of(analysis, units, signal))
        .collect()
}

impl<'a> Sensed<'a> {
    fn of(analysis: &'a Analysis, units: &UnitPreferences, signal: Signal<'a>) -> Option<Self> {
        let (office, dimension) = (&analysis.office, signal.dimension?);
        let span = signal.fields.range(Key::Span).map(|(from, to, _)| (from, to));
        let unit = match span {
            Some((_, top)) => top.unit,
            None => units.unit(dimension)?,
        };
        let expected = analysis
            .prediction
            .expected_reading(office, &analysis.networks, signal.thing, dimension);
        Some(Self {
            signal,
            unit,
            office,
            expected: expected.map(|expected| rounded(office.quantity_of(expected.figure(), unit))),
            span,
        })
    }

    /// How the signal is called where its sensor has several.
    pub fn word(&self) -> Option<&'static str> {
        match self.signal.port.role {
            Role::Signal(signal) if signal.source == SignalSource::Own => None,
            _ => Some(self.signal.port.word),
        }
    }

    fn in_its_unit(&self, quantity: Quantity) -> f64 {
        self.office.quantity_of(self.office.figure(quantity), self.unit).value
    }

    /// Where in the span the reading should lie, from 0 at its bottom to 1 at its top.
    pub fn part(&self) -> Option<f64> {
        let (bottom, top) = self.span?;
        let (bottom, top) = (self.in_its_unit(bottom), self.in_its_unit(top));
        let part = (self.expected?.value - bottom) / (top - bottom);
        part.is_finite().then_some(part)
    }

    /// "8.23 psi, 82 % of its span".
    pub fn short(&self) -> Option<String> {
        let expected = self.expected?;
        Some(match self.part() {
            Some(part) => format!("{expected}, {:.0} %", part * 100.0),
            None => expected.to_string(),
        })
    }

    /// The limits, and how far the reading should be from each.
    pub fn limits(&self) -> impl Iterator<Item = Kept<'a>> {
        self.signal.fields.limits().map(|(limit, place)| {
            let side = if limit.level.is_low() { 1.0 } else { -1.0 };
            let margin = |expected: Quantity| side * (expected.value - self.in_its_unit(limit.value));
            Kept {
                limit,
                place,
                margin: self.expected.map(|expected| {
                    rounded(Quantity {
                        value: margin(expected),
                        unit: self.unit,
                    })
                }),
            }
        })
    }

    /// What it measures.
    pub fn measures(&self) -> &'static str {
        self.signal.dimension.map_or("", Dimension::name)
    }
}
