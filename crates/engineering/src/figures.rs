//! Figures and units of the worked examples, for tests.
#![allow(clippy::unwrap_used, reason = "the units are in the table")]

use crate::measure::{Flow, Length, Pressure};
use crate::units::{Quantity, find};

pub(crate) fn quantity(value: f64, unit: &str) -> Quantity {
    Quantity {
        value,
        unit: find(unit).unwrap(),
    }
}

pub(crate) fn psi(figure: f64) -> Pressure {
    Pressure::from_pascals(find("psi").unwrap().to_si(figure))
}

pub(crate) fn in_psi(pressure: Pressure) -> f64 {
    find("psi").unwrap().from_si(pressure.pascals())
}

pub(crate) fn scfh(figure: f64) -> Flow {
    Flow::from_cubic_metres_per_second(find("scfh").unwrap().to_si(figure))
}

pub(crate) fn feet(figure: f64) -> Length {
    Length::from_metres(find("ft").unwrap().to_si(figure))
}

/// Fails unless a figure is as expected, within a part of it.
#[track_caller]
pub(crate) fn near(found: f64, expected: f64, part: f64, what: &str) {
    assert!(
        (found / expected - 1.0).abs() <= part,
        "{what}: {found}, expected {expected}"
    );
}
