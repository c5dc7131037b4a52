use drysheath_engineering::units::{Dimension, Quantity, Unit};
use drysheath_office::kinds::{Key, Kind, Role, SignalSource};
use drysheath_office::{
    Fields, Limit, Office, Signal, ThingId, UnitPreferences, reporting_step, rounded, rounded_to_step,
};
use drysheath_text::Place;

use crate::{Bound, Explainer};

/// The expected reading of a signal, compared with its span and limits. Figures are as [`Office::figure`] returns them.
pub struct SignalReading<'a> {
    /// Signal that gives the reading.
    pub signal: Signal<'a>,
    /// The dimension that the signal measures or switches at.
    pub dimension: Dimension,
    /// Expected reading. `None` if it cannot be computed.
    pub expected: Option<f64>,
    /// Span, bottom and top, with its place.
    pub span: Option<(Quantity, Quantity, Place)>,
    /// Limits of the signal.
    pub limits: Vec<ReadingLimit<'a>>,
    office: &'a Office,
}

/// A limit of a reading.
pub struct ReadingLimit<'a> {
    /// The limit as stated.
    pub limit: &'a Limit,
    /// Place where the limit is stated.
    pub place: Place,
    /// The bound that it sets for the reading.
    pub bound: Bound,
}

impl<'a> Explainer<'a> {
    /// The readings of a sensor; empty for other things.
    pub fn readings(&self, sensor: ThingId) -> Vec<SignalReading<'a>> {
        let kind = self.office.thing(sensor).kind;
        if !kind.is_some_and(Kind::is_sensor) {
            return Vec::new();
        }
        let signals = self.office.signals(sensor).into_iter();
        signals.filter_map(|signal| self.reading(signal)).collect()
    }

    /// The reading of a signal. `None` for a contact that does not switch at a pressure.
    pub fn reading(&self, signal: Signal<'a>) -> Option<SignalReading<'a>> {
        let (office, dimension) = (self.office, signal.reads?);
        let expected = self
            .prediction
            .expected_reading(office, self.networks, signal.thing, dimension);
        let limits = signal.fields.limits().map(|(limit, place)| ReadingLimit {
            limit,
            place,
            bound: Bound::of_limit(office, limit),
        });
        Some(SignalReading {
            dimension,
            expected: expected.map(drysheath_prediction::ExpectedReading::figure),
            span: signal.fields.range(Key::Span),
            limits: limits.collect(),
            signal,
            office,
        })
    }
}

/// The unit in which the figures of a signal are stated: that of its span, or else of its first limit.
pub fn stated_unit(signal: &Signal<'_>) -> Option<&'static Unit> {
    let of_span = signal.fields.range(Key::Span).map(|(_, top, _)| top.unit);
    of_span.or_else(|| Some(signal.fields.limits().next()?.0.value.unit))
}

impl SignalReading<'_> {
    /// Word of the signal, if its sensor has several.
    pub fn word(&self) -> Option<&'static str> {
        match self.signal.port.role {
            Role::Signal(signal) if signal.source == SignalSource::Own => None,
            _ => Some(self.signal.port.word),
        }
    }

    /// Position of the expected reading in the span: 0 at the bottom, 1 at the top.
    pub fn span_part(&self) -> Option<f64> {
        let (bottom, top, _) = self.span?;
        let (bottom, top) = (self.office.figure(bottom), self.office.figure(top));
        let part = (self.expected? - bottom) / (top - bottom);
        part.is_finite().then_some(part)
    }

    /// Margin of the expected reading to a limit.
    pub fn margin(&self, limit: &ReadingLimit<'_>) -> Option<f64> {
        Some(limit.bound.margin(self.expected?))
    }

    /// The unit in which its figures are stated, see [`stated_unit`].
    pub fn stated_unit(&self) -> Option<&'static Unit> {
        stated_unit(&self.signal)
    }

    /// Step of the signal, or else the sensor's error, in SI. `None` for a temperature, which is a point on a scale.
    pub fn step(&self) -> Option<f64> {
        reporting_step(self.signal.fields, self.dimension)
    }

    /// The expected reading in the sensor's own unit, or else in that of the office, at the sensor's resolution.
    pub fn shown(&self, units: &UnitPreferences) -> Option<Quantity> {
        let unit = self.stated_unit().or_else(|| units.unit(self.dimension))?;
        let exact = self.office.quantity_of(self.expected?, unit);
        Some(
            self.step()
                .map_or_else(|| rounded(exact), |step| rounded_to_step(step, exact)),
        )
    }

    /// Margin to a limit, computed from the displayed figures.
    pub fn shown_margin(&self, limit: &ReadingLimit<'_>, units: &UnitPreferences) -> Option<Quantity> {
        let expected = self.shown(units)?;
        let in_its_unit = |figure| self.office.quantity_of(figure, expected.unit).value;
        let bound = limit.bound.moved_to(in_its_unit(limit.bound.value));
        Some(rounded(Quantity {
            value: bound.margin(expected.value),
            ..expected
        }))
    }
}
