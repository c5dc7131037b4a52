//! Water outside a sheath, and the air pressure that keeps it out.

use crate::atmosphere::GRAVITY;
use crate::measure::{Density, Length, Pressure};

/// Conventional water, exact by definition, NIST SP 811 \[from memory\]. Water in a manhole at 60 °F is 0.1 % lighter.
pub const CONVENTIONAL: Density = Density::from_kilograms_per_cubic_metre(1000.0);

/// Sea water \[common practice\]: 2.5 % heavier.
pub const SEA: Density = Density::from_kilograms_per_cubic_metre(1025.0);

/// Pressure of water at a depth below its surface, p = ρ·g·h with standard gravity \[derived\]: 0.433 53 psi/ft of
/// [`CONVENTIONAL`] water. It is relative to ambient pressure, as a gauge is, and so holds at every elevation.
///
/// Air keeps the water out of a hole in the sheath only where the gauge pressure *at that point* is higher; the
/// regulator's gauge does not tell. Above the surface (a negative depth) there is no head.
pub fn head(depth: Length, water: Density) -> Pressure {
    Pressure::from_pascals(water.kilograms_per_cubic_metre() * GRAVITY * depth.metres().max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::{feet, in_psi};

    #[test]
    fn a_foot_of_water() {
        // Worked example HYD-1 (NIST SP 811 from memory; CoolProp's density at 60 °F), tolerance 1e-4.
        let close =
            |found: f64, expected: f64| assert!((found / expected - 1.0).abs() < 1e-4, "{found}, not {expected}");
        // Feet of water balanced by one psi.
        let held = |water| in_psi(head(feet(1.0), water)).recip();
        close(held(CONVENTIONAL), 2.306_658_725_850_26);
        close(held(CONVENTIONAL) * 12.0, 27.679_904_710_203_12);
        close(in_psi(head(feet(1.0), CONVENTIONAL)), 0.433_527_504_001_004_3);
        close(in_psi(head(feet(12.0), CONVENTIONAL)), 5.202_330_048_012_051);
        close(in_psi(head(feet(1.0), SEA)), 0.444_365_691_601_029_46);
        close(
            held(Density::from_kilograms_per_cubic_metre(999.017)),
            2.308_928_212_008_914,
        );
    }

    #[test]
    fn above_the_water_there_is_no_head() {
        assert!(head(feet(-3.0), CONVENTIONAL).pascals().abs() < 1e-12);
    }
}
