use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Level, Office};
use drysheath_text::Place;

use super::reading::Reading;
use crate::figures::below;

/// A limit or the normal reading, as a rung of the ladder that they make.
#[derive(Clone, Copy)]
pub(super) struct Rung {
    /// Which limit; nothing for the normal reading.
    pub level: Option<Level>,
    pub quantity: Quantity,
    pub figure: f64,
    pub place: Place,
}

impl Rung {
    /// What it is, in words.
    pub fn name(&self) -> &'static str {
        match self.level {
            Some(Level::LowLow) => "low-low limit",
            Some(Level::Low) => "low limit",
            None => "normal reading",
            Some(Level::High) => "high limit",
            Some(Level::HighHigh) => "high-high limit",
        }
    }
}

/// From the lowest limit over the normal reading to the highest, as far as they are declared and lie in the span.
pub(super) fn ladder(reading: &Reading<'_>, office: &Office) -> impl Iterator<Item = Rung> {
    let span = reading.span();
    let rung = |level, quantity, place| Rung {
        level,
        quantity,
        figure: office.figure(quantity),
        place,
    };
    let limit = |level| {
        let (limit, place) = reading.fields.limits().find(|(limit, _)| limit.level == level)?;
        Some(rung(Some(level), limit.value, place))
    };
    let normal = reading
        .fields
        .quantity(Key::Normal)
        .map(|(normal, place)| rung(None, normal, place));
    let rungs = [
        limit(Level::LowLow),
        limit(Level::Low),
        normal,
        limit(Level::High),
        limit(Level::HighHigh),
    ];
    rungs
        .into_iter()
        .flatten()
        .filter(move |rung| span.is_none_or(|span| span.holds(rung.figure)))
}

/// The first two neighbours on the ladder of which the lower is not below the higher.
pub(super) fn first_disorder(reading: &Reading<'_>, office: &Office) -> Option<(Rung, Rung)> {
    let mut lower: Option<Rung> = None;
    for rung in ladder(reading, office) {
        match lower {
            Some(lower) if !below(lower.figure, rung.figure) => return Some((lower, rung)),
            _ => lower = Some(rung),
        }
    }
    None
}
