//! Copper wire: gauge, area and resistance.

use core::f64::consts::FRAC_PI_4;

use crate::measure::{ConductorArea, Length, Resistance, Temperature};

/// Diameter of 36 AWG, m: 0.005 in. ASTM B258, number from memory.
const DIAMETER_36: f64 = 0.005 * 0.025_4;
/// Diameter of 4/0 over that of 36 AWG, which lie 39 sizes apart. ASTM B258, number from memory.
const SPAN_RATIO: f64 = 92.0;
const SPAN_SIZES: f64 = 39.0;
/// Resistivity of annealed copper at 20 °C, Ω·m: 1/58 Ω·mm²/m, IEC 60028.
const COPPER_RESISTIVITY: f64 = 1e-6 / 58.0;
/// Rise of that resistance per kelvin at 20 °C, IEC 60028.
const COPPER_COEFFICIENT: f64 = 0.003_93;

/// Diameter of a solid conductor of American Wire Gauge size `size`, where 0, −1, −2, −3 are 1/0, 2/0, 3/0, 4/0:
/// d = 0.005 in × 92^((36 − n)/39), ASTM B258 (number from memory). The size need not be whole.
pub fn gauge_diameter(size: f64) -> Length {
    Length::from_metres(DIAMETER_36 * SPAN_RATIO.powf((36.0 - size) / SPAN_SIZES))
}

/// Area of the metal in a conductor of American Wire Gauge size `size`, counted as in [`gauge_diameter`].
pub fn gauge_area(size: f64) -> ConductorArea {
    let diameter = gauge_diameter(size).metres();
    ConductorArea::from_square_metres(FRAC_PI_4 * diameter * diameter)
}

/// The American Wire Gauge size of an area, counted as in [`gauge_diameter`] and seldom whole. Not a number for an area
/// that is not positive.
pub fn gauge(area: ConductorArea) -> f64 {
    let diameter = (area.square_metres() / FRAC_PI_4).sqrt();
    36.0 - SPAN_SIZES * (diameter / DIAMETER_36).ln() / SPAN_RATIO.ln()
}

/// Resistance of one copper conductor of this area and length at this temperature: R = ρ·L/A·(1 + 0.003 93·(t − 20 °C)) with
/// ρ = 1/58 Ω·mm²/m, IEC 60028. A stranded conductor has about 2 % more for the lay of its strands (common practice, no
/// source).
pub fn resistance(area: ConductorArea, length: Length, temperature: Temperature) -> Resistance {
    let cold = COPPER_RESISTIVITY * length.metres() / area.square_metres();
    Resistance::from_ohms(cold * (1.0 + COPPER_COEFFICIENT * (temperature.celsius() - 20.0)))
}
