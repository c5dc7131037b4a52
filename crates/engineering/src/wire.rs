//! Copper wire: gauge, area and resistance.

use core::f64::consts::FRAC_PI_4;

use crate::measure::{ConductorArea, Length, Resistance, Temperature};

/// Diameter of 36 AWG, m: 0.005 in. ASTM B258, number from memory.
const DIAMETER_36: f64 = 0.005 * 0.025_4;
/// Ratio of the diameters of 4/0 and 36 AWG, which are 39 sizes apart. ASTM B258, number from memory.
const SPAN_RATIO: f64 = 92.0;
const SPAN_SIZES: f64 = 39.0;
/// Resistivity of annealed copper at 20 °C, Ω·m: 1/58 Ω·mm²/m, IEC 60028.
const COPPER_RESISTIVITY: f64 = 1e-6 / 58.0;
/// Temperature coefficient of that resistance at 20 °C, 1/K, IEC 60028.
const COPPER_COEFFICIENT: f64 = 0.003_93;

/// Diameter of a solid conductor of American Wire Gauge size `size`, where 0, −1, −2, −3 are 1/0, 2/0, 3/0, 4/0:
/// d = 0.005 in × 92^((36 − n)/39), ASTM B258 (number from memory). The size need not be whole.
pub fn gauge_diameter(size: f64) -> Length {
    Length::from_metres(DIAMETER_36 * SPAN_RATIO.powf((36.0 - size) / SPAN_SIZES))
}

/// Cross-section of the metal of a conductor of American Wire Gauge size `size`, as in [`gauge_diameter`].
pub fn gauge_area(size: f64) -> ConductorArea {
    let diameter = gauge_diameter(size).metres();
    ConductorArea::from_square_metres(FRAC_PI_4 * diameter * diameter)
}

/// American Wire Gauge size of an area, as in [`gauge_diameter`]; seldom whole. NaN for an area that is not positive.
pub fn gauge(area: ConductorArea) -> f64 {
    let diameter = (area.square_metres() / FRAC_PI_4).sqrt();
    36.0 - SPAN_SIZES * (diameter / DIAMETER_36).ln() / SPAN_RATIO.ln()
}

/// Resistance of one copper conductor of this area and length at this temperature: R = ρ·L/A·(1 + 0.003 93·(t − 20 °C))
/// with ρ = 1/58 Ω·mm²/m, IEC 60028. A stranded conductor has about 2 % more because of the lay of its strands (common
/// practice, no source).
pub fn resistance(area: ConductorArea, length: Length, temperature: Temperature) -> Resistance {
    let cold = Resistance::from_ohms(COPPER_RESISTIVITY * length.metres() / area.square_metres());
    at_temperature(cold, temperature)
}

/// Converts the resistance `cold` of copper at 20 °C to another temperature.
pub fn at_temperature(cold: Resistance, temperature: Temperature) -> Resistance {
    Resistance::from_ohms(cold.ohms() * (1.0 + COPPER_COEFFICIENT * (temperature.celsius() - 20.0)))
}

/// Resistance of `count` equal resistances in parallel: 1/R = Σ 1/Rᵢ (Kirchhoff's current law).
pub fn in_parallel(one: Resistance, count: u32) -> Resistance {
    Resistance::from_ohms(one.ohms() / f64::from(count.max(1)))
}

/// A stretch of a two-wire line with the same wire throughout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WireSegment {
    /// Cross-section of one of its two conductors.
    pub area: ConductorArea,
    /// Length of the cable; the loop has twice as much wire.
    pub length: Length,
}

/// Resistance there and back of copper stretches in series, all at this temperature: Σ 2·r·L. Joints, fuses and coils
/// are not included.
pub fn loop_resistance(stretches: impl IntoIterator<Item = WireSegment>, temperature: Temperature) -> Resistance {
    stretches
        .into_iter()
        .map(|stretch| resistance(stretch.area, stretch.length * 2.0, temperature))
        .sum()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::units::{Quantity, find};

    fn ohms_per_kilofoot(size: f64, celsius: f64) -> f64 {
        let length = Length::of(Quantity {
            value: 1.0,
            unit: find("kft").unwrap(),
        })
        .unwrap();
        resistance(gauge_area(size), length, Temperature::from_celsius(celsius)).ohms()
    }

    #[test]
    fn agrees_with_the_published_copper_tables() {
        // Worked example AWG-1. At 20 °C the classic copper table (NBS Handbook 100), within 0.05 %. At 75 °C NEC chapter 9
        // table 8, within 0.5 %, where 6 AWG is stranded: 2 % more.
        let cases = [
            (26.0, 40.81, None),
            (24.0, 25.67, None),
            (22.0, 16.14, None),
            (19.0, 8.051, None),
            (14.0, 2.525, Some(3.07)),
            (12.0, 1.588, Some(1.93)),
            (10.0, 0.998_9, Some(1.21)),
            (6.0, 0.395_1, Some(0.491 / 1.02)),
        ];
        for (size, cold, hot) in cases {
            let found = ohms_per_kilofoot(size, 20.0);
            assert!(
                (found / cold - 1.0).abs() < 0.000_5,
                "{size} awg: {found} ohm/kft at 20 degC"
            );
            if let Some(hot) = hot {
                let found = ohms_per_kilofoot(size, 75.0);
                assert!(
                    (found / hot - 1.0).abs() < 0.005,
                    "{size} awg: {found} ohm/kft at 75 degC"
                );
            }
        }
    }

    #[test]
    fn a_line_goes_there_and_back() {
        // Worked example AWG-1, ohm/kft there and back at 20 °C; a line of two gauges has the sum of both.
        let kilofoot = |size| WireSegment {
            area: gauge_area(size),
            length: Length::from_metres(304.8),
        };
        let ohms = |line: &[WireSegment]| loop_resistance(line.iter().copied(), Temperature::from_celsius(20.0)).ohms();
        let cases = [
            (26.0, 81.629_842_922_163_19),
            (24.0, 51.337_512_861_228_75),
            (19.0, 16.102_729_009_655_782),
        ];
        for (size, expected) in cases {
            assert!((ohms(&[kilofoot(size)]) - expected).abs() < 1e-9, "{size} awg");
        }
        let both = ohms(&[kilofoot(26.0), kilofoot(24.0)]);
        assert!((both - 132.967_355_783).abs() < 1e-6, "{both}");
        assert!(ohms(&[]).abs() < 1e-12);
    }

    #[test]
    fn the_sizes_that_define_the_gauge() {
        // ASTM B258: 36 AWG is 0.005 in and 4/0 AWG 0.46 in.
        for (size, inches) in [(36.0, 0.005), (-3.0, 0.46)] {
            let found = gauge_diameter(size).metres() / 0.025_4;
            assert!((found - inches).abs() < 1e-12, "{size} awg: {found} in");
        }
        for size in [40.0, 24.0, 17.5, 0.0, -3.0] {
            assert!((gauge(gauge_area(size)) - size).abs() < 1e-9, "{size} awg");
        }
        assert!(gauge(ConductorArea::from_square_metres(-1.0)).is_nan());
    }
}
