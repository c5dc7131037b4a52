use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::Key;
use drysheath_office::{Field, LimitLevel, Office, Value};
use drysheath_text::Place;

use super::reading::Span;
use crate::figures::below;

/// A limit or the normal reading, as an element of the ascending order.
#[derive(Clone, Copy)]
pub(super) struct LimitPoint {
    /// The limit. `None` for the normal reading.
    pub level: Option<LimitLevel>,
    pub quantity: Quantity,
    pub figure: f64,
    pub place: Place,
}

impl LimitPoint {
    /// What messages call it: "low limit", "normal reading".
    pub fn name(&self) -> &'static str {
        match self.level {
            Some(LimitLevel::LowLow) => "low-low limit",
            Some(LimitLevel::Low) => "low limit",
            None => "normal reading",
            Some(LimitLevel::High) => "high limit",
            Some(LimitLevel::HighHigh) => "high-high limit",
        }
    }
}

/// The declared limits and the normal reading within the span, from the lowest to the highest.
#[derive(Default)]
pub(super) struct LimitOrder {
    low_low: Option<LimitPoint>,
    low: Option<LimitPoint>,
    normal: Option<LimitPoint>,
    high: Option<LimitPoint>,
    high_high: Option<LimitPoint>,
}

impl LimitOrder {
    /// Collects the limits and the normal reading of a signal that lie in its span.
    pub fn of(office: &Office, fields: &[Field], span: Option<Span>) -> Self {
        let mut limit_order = Self::default();
        for field in fields {
            let (level, quantity) = match &field.value {
                Value::Limit(limit) => (Some(limit.level), limit.value),
                Value::Quantity(quantity) if field.spec.key == Key::Normal => (None, *quantity),
                _ => continue,
            };
            let limit_point = LimitPoint {
                level,
                quantity,
                figure: office.figure(quantity),
                place: field.place,
            };
            if span.is_none_or(|span| span.holds(limit_point.figure)) {
                *limit_order.slot(level) = Some(limit_point);
            }
        }
        limit_order
    }

    fn slot(&mut self, level: Option<LimitLevel>) -> &mut Option<LimitPoint> {
        match level {
            Some(LimitLevel::LowLow) => &mut self.low_low,
            Some(LimitLevel::Low) => &mut self.low,
            None => &mut self.normal,
            Some(LimitLevel::High) => &mut self.high,
            Some(LimitLevel::HighHigh) => &mut self.high_high,
        }
    }

    /// The normal reading, if the signal states one.
    pub fn normal(&self) -> Option<LimitPoint> {
        self.normal
    }

    /// The low limit that trips first: the upper one of two.
    pub fn upper_low(&self) -> Option<LimitPoint> {
        self.low.or(self.low_low)
    }

    /// The high limit that trips first: the lower one of two.
    pub fn lower_high(&self) -> Option<LimitPoint> {
        self.high.or(self.high_high)
    }

    /// All of them in ascending order.
    pub fn limit_points(&self) -> impl Iterator<Item = LimitPoint> {
        [self.low_low, self.low, self.normal, self.high, self.high_high]
            .into_iter()
            .flatten()
    }

    /// The first two neighbours that are not in ascending order.
    pub fn first_disorder(&self) -> Option<(LimitPoint, LimitPoint)> {
        let upper = self.limit_points().skip(1);
        self.limit_points()
            .zip(upper)
            .find(|(lower, upper)| !below(lower.figure, upper.figure))
    }
}
