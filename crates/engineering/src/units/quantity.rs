//! A number with its unit as written.

use core::fmt;

use super::{Dimension, Scale, Unit};

/// A number and its unit, kept as written for messages.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// The number as written. For `awg`, 0 is 1/0, −1 is 2/0, and so on.
    pub value: f64,
    /// The unit whose spelling was written.
    pub unit: &'static Unit,
}

impl Quantity {
    /// The value in the SI base of its dimension (see [`Dimension`]).
    pub fn si(self) -> f64 {
        self.unit.to_si(self.value)
    }

    /// The value in SI as a difference of two figures, independent of the zero of the scale.
    pub fn difference(self) -> f64 {
        self.si() - self.unit.to_si(0.0)
    }

    /// The same difference in another unit of its dimension.
    #[must_use]
    pub fn difference_in(self, unit: &'static Unit) -> Quantity {
        Quantity {
            value: unit.from_si(self.difference() + unit.to_si(0.0)),
            unit,
        }
    }

    /// The dimension of its unit.
    pub fn dimension(self) -> Dimension {
        self.unit.dimension
    }

    /// The quantity rounded to this number of significant digits.
    #[must_use]
    pub fn to_digits(self, digits: i32) -> Quantity {
        self.to_digits_by(digits, f64::round)
    }

    /// The quantity rounded up to this number of significant digits, within a billionth of the last digit.
    #[must_use]
    pub fn up_to_digits(self, digits: i32) -> Quantity {
        self.to_digits_by(digits, |value| (value - 1e-9).ceil())
    }

    /// The quantity rounded down to this number of significant digits, within a billionth of the last digit.
    #[must_use]
    pub fn down_to_digits(self, digits: i32) -> Quantity {
        self.to_digits_by(digits, |value| (value + 1e-9).floor())
    }

    fn to_digits_by(self, digits: i32, round: impl Fn(f64) -> f64) -> Quantity {
        let size = self.value.abs().log10().floor();
        if !size.is_finite() {
            return self;
        }
        let scale = 10_f64.powi(digits - 1 - size as i32);
        // Values below about 1e-300 cannot be scaled.
        if !scale.is_normal() {
            return self;
        }
        Quantity {
            value: round(self.value * scale) / scale,
            ..self
        }
    }

    /// The same quantity in another unit. If that is impossible (another dimension, or gauge against absolute pressure)
    /// the quantity is returned unchanged, as its unit shows.
    #[must_use]
    pub fn in_unit(self, unit: &'static Unit) -> Quantity {
        if core::ptr::eq(self.unit, unit) || !self.unit.converts_to(unit) {
            self
        } else {
            Quantity {
                value: unit.from_si(self.si()),
                unit,
            }
        }
    }
}

impl fmt::Display for Quantity {
    /// The number with up to four decimals (below 1, four significant ones), without trailing zeros, then the unit.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.unit.scale == Scale::AmericanWireGauge && self.value <= 0.0 && self.value.fract() == 0.0 {
            write!(f, "{}/0 {}", 1.0 - self.value, self.unit.name)
        } else {
            write!(f, "{} {}", figure(self.value), self.unit.name)
        }
    }
}

/// Formats a number plainly: rounded, without trailing zeros.
fn figure(value: f64) -> String {
    const DECIMALS: usize = 4;
    const PLAIN: core::ops::Range<f64> = 1e-9..1e15;
    let size = value.abs();
    if size == 0.0 {
        return "0".to_owned();
    }
    if !PLAIN.contains(&size) {
        return format!("{value:e}");
    }
    let mut decimals = DECIMALS;
    let mut scaled = size;
    while scaled < 0.1 {
        scaled *= 10.0;
        decimals += 1;
    }
    let text = format!("{value:.decimals$}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::{UNITS, find};
    use crate::figures::quantity;

    #[test]
    fn differences_have_no_zero() {
        let celsius = find("degC").unwrap();
        let converted = quantity(9.0, "degF").difference_in(celsius).value;
        assert!((converted - 5.0).abs() < 1e-12, "{converted}");
        assert!((quantity(9.0, "degF").difference() - 5.0).abs() < 1e-12);
        let psi = quantity(10.0, "kPa").difference_in(find("psi").unwrap()).value;
        assert!((psi - 1.450_377).abs() < 1e-6, "{psi}");
    }

    #[test]
    fn shows_as_a_person_would_write_it() {
        let cases = [
            (16.0, "psi", "16 psi"),
            (14.696, "psia", "14.696 psia"),
            (-48.0, "V", "-48 V"),
            (0.471_947_443_2, "slpm", "0.4719 sl/min"),
            (0.016_666_666, "h", "0.01667 h"),
            (12_345.678_912, "ft", "12345.6789 ft"),
            (100.0, "ft", "100 ft"),
            (1e20, "Pa", "1e20 Pa"),
            (-0.0, "psi", "0 psi"),
            (24.0, "AWG", "24 awg"),
            (0.0, "awg", "1/0 awg"),
            (-3.0, "awg", "4/0 awg"),
            (250.0, "MCM", "250 kcmil"),
            (f64::NAN, "V", "NaN V"),
        ];
        for (value, unit, expected) in cases {
            assert_eq!(quantity(value, unit).to_string(), expected);
        }
    }

    #[test]
    fn one_unit_in_another() {
        // Worked example UNIT-1 (NIST SP 811 chains), and the fixed points of the temperature scales.
        let cases = [
            (1.0, "psi", "kPa", 6.894_757_293_168_361),
            (1.0, "inHg", "Pa", 3_386.388_640_341),
            (1.0, "inH2O", "Pa", 249.088_91),
            (1.0, "ft3", "L", 28.316_846_592),
            (1.0, "scfh", "sl/min", 0.471_947_443_2),
            (1.0, "scfh", "scfd", 24.0),
            (1.0, "scfh", "sm3/h", 0.028_316_846_592),
            (101.325, "kPa", "psi", 14.695_948_775_513_45),
            (1.0, "psi", "inHg", 2.036_020_677_317_792_2),
            (1.0, "psi", "inH2O", 27.679_904_710_203_12),
            (1.0, "psi", "ftH2O", 2.306_658_725_850_259_6),
            (1.0, "psi", "ozin2", 16.0),
            // Worked example STD-1: 0 °C, 101.325 kPa against 60 °F.
            (1.0, "nl/min", "sl/min", 1.056_948_766_449_041_3),
            (1.0, "nm3/h", "sm3/h", 1.056_948_766_449_041_3),
            (32.0, "degF", "degC", 0.0),
            (60.0, "degF", "K", 288.705_555_555_555_6),
            (-40.0, "degC", "degF", -40.0),
            (24.0, "awg", "mm2", 0.204_73),
            (0.0, "awg", "kcmil", 105.534_5),
            (1.0, "psi/scfh/kft", "psi/scfh/ft", 0.001),
            (1.0, "psi/scfh", "kPa/slpm", 14.609_164_6),
        ];
        for (value, from, to, expected) in cases {
            let found = quantity(value, from).in_unit(find(to).unwrap()).value;
            let tolerance = if from == "awg" || to == "kPa/slpm" { 1e-5 } else { 1e-12 };
            assert!(
                (found - expected).abs() <= tolerance * expected.abs().max(100.0),
                "{value} {from} is {found} {to}"
            );
        }
    }

    #[test]
    fn there_and_back() {
        for unit in UNITS {
            for value in [-3.0, 0.0, 0.25, 1.0, 24.0, 40.0] {
                let back = unit.from_si(unit.to_si(value));
                assert!((back - value).abs() < 1e-9, "{value} {} came back as {back}", unit.name);
            }
        }
    }

    #[test]
    fn what_cannot_be_converted_stays_as_it_was() {
        let gauge = quantity(10.0, "psi");
        assert_eq!(gauge.in_unit(find("psia").unwrap()), gauge);
        assert_eq!(gauge.in_unit(find("ft").unwrap()), gauge);
    }

    #[test]
    fn digits_are_those_of_any_size() {
        let unit = find("psi").unwrap();
        let rounded = |value| super::Quantity { value, unit }.to_digits(4).value;
        assert!((rounded(12.345_678) - 12.35).abs() < 1e-12);
        assert!((rounded(1.234_567e300) / 1.235e300 - 1.0).abs() < 1e-12);
        for value in [0.0, 5e-324, -1e-310, 1e-306, f64::MAX, f64::INFINITY] {
            assert!(!rounded(value).is_nan(), "{value}");
        }
    }
}
