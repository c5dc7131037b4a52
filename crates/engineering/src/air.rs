//! Flow laws of air in a tube, a cable and a hole: dry air, steady, isothermal, ideal gas.
//!
//! All of them hold for air near room temperature and below some 10 bar, and for speeds far below that of sound inside
//! tubes: the acceleration term of the expanding air, 2·ln(p₁/p₂), is left out. Against f·L/d it makes up 0.001 % of
//! the drop in a usual run of tube, 0.03 % in a short one at Reynolds 2000, and 0.2 % in turbulent ones that lose a
//! fifth of 80 psi (`tests/outside` compares).
//!
//! Nothing here is linear in pressure. In a laminar line the *square* of the absolute pressure falls linearly; assuming
//! a constant resistance gives an error of 34 % at 5 psi mean and 68 % at 10 psi.

use core::f64::consts::PI;

use crate::atmosphere::GAS_CONSTANT;
use crate::measure::{AbsolutePressure, Flow, Length, PneumaticResistance, Temperature, Viscosity};
use crate::standard::StandardConditions;

/// The Reynolds number up to which a flow is laminar.
pub const LAMINAR_LIMIT: f64 = 2_000.0;
/// The Reynolds number from which a flow is turbulent; between the two it may be either.
pub const TURBULENT_LIMIT: f64 = 4_000.0;
/// Reference mean absolute pressure of a [`PneumaticResistance`] unless stated otherwise, Pa.
const RESISTANCE_PRESSURE: f64 = 101_325.0;
/// Ratio of the specific heats of dry air.
const GAMMA: f64 = 1.4;

/// Viscosity of dry air, Sutherland's law μ = 1.458e-6·T^1.5/(T + 110.4) Pa·s, numbers from memory (those of ISO 2533).
/// Within 0.5 % of a real-gas library from −40 °C to 60 °C.
pub fn viscosity(temperature: Temperature) -> Viscosity {
    let kelvins = temperature.kelvins();
    Viscosity::from_pascal_seconds(1.458e-6 * kelvins * kelvins.sqrt() / (kelvins + 110.4))
}

/// Pneumatic resistance of a round bore in laminar flow, at a mean absolute pressure of 101 325 Pa: the law of Hagen
/// and Poiseuille for an ideal gas, `p₁² − p₂² = (256·μ·L/(π·d⁴))·p_s·(T/T_s)·Q`, written as 2·p·k·L·Q (derived).
///
/// Holds up to a Reynolds number of 2000.
pub fn tube_resistance(bore: Length, temperature: Temperature) -> PneumaticResistance {
    let kelvins = temperature.kelvins();
    let standard = StandardConditions::BASE;
    let squares = 256.0 * viscosity(temperature).pascal_seconds() / (PI * bore.metres().powi(4))
        * standard.pressure().pascals()
        * (kelvins / standard.temperature().kelvins());
    PneumaticResistance::from_pascal_seconds_per_m4(squares / (2.0 * RESISTANCE_PRESSURE))
}

/// Reference conditions of a cable's pneumatic resistance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reference {
    /// Mean absolute pressure in the line when its resistance was measured.
    pub pressure: AbsolutePressure,
    /// Temperature of the air in the cable.
    pub temperature: Temperature,
}

/// 14.696 psia and 60 °F.
impl Default for Reference {
    fn default() -> Self {
        Self {
            pressure: AbsolutePressure::from_pascals(RESISTANCE_PRESSURE),
            temperature: StandardConditions::BASE.temperature(),
        }
    }
}

/// Converts a pneumatic resistance to a mean absolute pressure of 101 325 Pa and air at `temperature`: the drop is
/// inversely proportional to the pressure and proportional to μ·T (derived, from the laminar law).
pub fn restate_resistance(
    resistance: PneumaticResistance,
    reference: Reference,
    temperature: Temperature,
) -> PneumaticResistance {
    let drag = |at: Temperature| viscosity(at).pascal_seconds() * at.kelvins();
    let pressure = reference.pressure.pascals() / RESISTANCE_PRESSURE;
    resistance * (pressure * drag(temperature) / drag(reference.temperature))
}

/// Decrease of the squared absolute pressure along a laminar line per m³/s of flow that passes its whole length,
/// Pa²·s/m³: p₁² − p₂² = 2·101 325 Pa·k·L·Q.
pub(crate) fn squares_per_flow(resistance: PneumaticResistance, length: Length) -> f64 {
    2.0 * RESISTANCE_PRESSURE * resistance.pascal_seconds_per_m4() * length.metres()
}

/// Reynolds number of a flow in a round bore, Re = 4·ṁ/(π·d·μ). It is the same all along a tube, whatever the pressure.
pub fn reynolds(flow: Flow, bore: Length, temperature: Temperature) -> f64 {
    flow.cubic_metres_per_second().abs() * reynolds_per_flow(bore, temperature)
}

pub(crate) fn reynolds_per_flow(bore: Length, temperature: Temperature) -> f64 {
    4.0 * StandardConditions::BASE.density().kilograms_per_cubic_metre()
        / (PI * bore.metres() * viscosity(temperature).pascal_seconds())
}

/// Flow regime in a round bore.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Regime {
    /// Reynolds number up to 2000.
    Laminar,
    /// Between 2000 and 4000: it may be either, and the predicted drop lies between the two.
    Uncertain,
    /// Reynolds number from 4000.
    Turbulent,
}

impl Regime {
    /// The regime at a Reynolds number.
    pub fn of(reynolds: f64) -> Self {
        if reynolds <= LAMINAR_LIMIT {
            Regime::Laminar
        } else if reynolds < TURBULENT_LIMIT {
            Regime::Uncertain
        } else {
            Regime::Turbulent
        }
    }

    /// Name in a sentence.
    pub fn name(self) -> &'static str {
        match self {
            Regime::Laminar => "laminar",
            Regime::Uncertain => "uncertain",
            Regime::Turbulent => "turbulent",
        }
    }
}

/// Ratio of inside to outside absolute pressure at which a hole chokes: ((γ + 1)/2)^(γ/(γ − 1)), 1.893 for air
/// (textbook, isentropic nozzle).
pub fn choke_ratio() -> f64 {
    f64::midpoint(GAMMA, 1.0).powf(GAMMA / (GAMMA - 1.0))
}

/// Discharge coefficient of a round hole with a sharp edge in a thin wall: an assumption, that of water through such a hole. Air at
/// high pressure loses up to a third more (both from memory).
pub const SHARP_EDGE: f64 = 0.62;

/// Flow through a round hole: the isentropic nozzle (textbook, from memory), choked above [`choke_ratio`], times a
/// discharge coefficient, as [`SHARP_EDGE`]. Negative if the air outside has the higher pressure.
///
/// Below a difference of 10 Pa the true square-root law, whose slope is infinite at zero, is replaced by a cubic that
/// meets it there.
pub fn orifice_flow(
    inside: AbsolutePressure,
    outside: AbsolutePressure,
    hole: Length,
    coefficient: f64,
    temperature: Temperature,
) -> Flow {
    let nozzle = nozzle_scale(hole, coefficient, temperature);
    Flow::from_cubic_metres_per_second(nozzle_flow(inside.pascals(), outside.pascals(), nozzle).0)
}

/// Flow per Pa upstream of a nozzle whose pressure function ψ (see [`nozzle_flow`]) is 1, m³/(s·Pa).
pub(crate) fn nozzle_scale(hole: Length, coefficient: f64, temperature: Temperature) -> f64 {
    let area = PI / 4.0 * hole.metres() * hole.metres();
    let speed = (2.0 * GAMMA / ((GAMMA - 1.0) * GAS_CONSTANT * temperature.kelvins())).sqrt();
    coefficient * area * speed / StandardConditions::BASE.density().kilograms_per_cubic_metre()
}

/// Flow out of a nozzle in m³/s, and its derivative by the inside pressure.
pub(crate) fn nozzle_flow(inside: f64, outside: f64, scale: f64) -> (f64, f64) {
    /// Difference below which the square-root law is smoothed, Pa.
    const ROUNDED: f64 = 10.0;
    let difference = inside - outside;
    if difference.abs() < ROUNDED {
        let (full, _) = nozzle_flow(outside + ROUNDED.copysign(difference), outside, scale);
        let (full, x) = (full.abs(), difference / ROUNDED);
        return (full * x * (1.25 - 0.25 * x * x), full * (1.25 - 0.75 * x * x) / ROUNDED);
    }
    let (high, low) = if difference > 0.0 {
        (inside, outside)
    } else {
        (outside, inside)
    };
    let ratio = (low / high).max(1.0 / choke_ratio());
    let psi = ratio.powf(2.0 / GAMMA) - ratio.powf((GAMMA + 1.0) / GAMMA);
    let psi_slope = 2.0 / GAMMA * ratio.powf(2.0 / GAMMA - 1.0) - (GAMMA + 1.0) / GAMMA * ratio.powf(1.0 / GAMMA);
    let root = psi.sqrt();
    if difference > 0.0 {
        (scale * high * root, scale * (root - ratio * psi_slope / (2.0 * root)))
    } else if low / high > ratio - 1e-12 {
        (-scale * high * root, (-scale * psi_slope / (2.0 * root)).max(0.0))
    } else {
        (-scale * high * root, 0.0)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::figures::{near, quantity};
    use crate::measure::Pressure;
    use crate::units::find;

    fn scfh(value: f64) -> Flow {
        Flow::of(quantity(value, "scfh")).unwrap()
    }

    fn inches(value: f64) -> Length {
        Length::of(quantity(value, "in")).unwrap()
    }

    fn psig(value: f64) -> AbsolutePressure {
        AbsolutePressure::from_pascals(101_325.0) + Pressure::of(quantity(value, "psi")).unwrap()
    }

    fn to(unit: &str, si: f64) -> f64 {
        find(unit).unwrap().from_si(si)
    }

    const COLD: Temperature = StandardConditions::BASE.temperature();

    #[test]
    fn viscosity_of_air() {
        // Worked example VISC-1's law, against the table of ISO 2533 at 15 °C, 1.7894e-5 Pa·s (number from memory).
        near(
            viscosity(Temperature::from_celsius(15.0)).pascal_seconds(),
            1.789_4e-5,
            1e-4,
            "Pa·s",
        );
    }

    #[test]
    fn resistance_of_tubes() {
        // Worked example K-1, psi/scfh/kft and the flow at Re 2000 in scfh; Hagen-Poiseuille and ideal gas, derived.
        // Tolerance 0.1 %.
        let cases = [
            (0.17, 0.730_332_074_643_65, 12.639_008_683_481_928),
            (0.25, 0.156_155_046_928_159, 18.586_777_475_708_722),
            (0.375, 0.030_845_441_368_525, 27.880_166_213_563_083),
            (0.5, 0.009_759_690_433_01, 37.173_554_951_417_444),
        ];
        for (bore, k, flow) in cases {
            let bore = inches(bore);
            let found = tube_resistance(bore, COLD).pascal_seconds_per_m4();
            near(to("psi/scfh/kft", found), k, 1e-4, "k");
            let limit = Flow::from_cubic_metres_per_second(LAMINAR_LIMIT / reynolds_per_flow(bore, COLD));
            near(
                to("scfh", limit.cubic_metres_per_second()),
                flow,
                1e-4,
                "flow at Re 2000",
            );
            near(reynolds(limit, bore, COLD), LAMINAR_LIMIT, 1e-12, "Re");
        }
    }

    #[test]
    fn one_tube() {
        // Worked examples AIR-1 and AIR-1b: 3/8 in, 5000 ft, 12 scfh, from 10 psig. Derived; 0.1 % of the drop, and
        // 1e-6 for the identity drop = k·L·Q·p_ref/p_mean.
        let (bore, length) = (inches(0.375), Length::of(quantity(5.0, "kft")).unwrap());
        let k = tube_resistance(bore, COLD);
        let fall = squares_per_flow(k, length) * scfh(12.0).cubic_metres_per_second();
        let far = AbsolutePressure::from_pascals((psig(10.0).pascals().powi(2) - fall).sqrt());
        let drop = to("psi", (psig(10.0) - far).pascals());
        near(drop, 1.127_038_686_890_554, 1e-6, "psi");
        near(reynolds(scfh(12.0), bore, COLD), 860.827_005_698_572, 1e-6, "Re");
        let mean = f64::midpoint(psig(10.0).pascals(), far.pascals());
        let identity = to("psi/scfh/kft", k.pascal_seconds_per_m4()) * 5.0 * 12.0 * 101_325.0 / mean;
        near(identity, drop, 1e-9, "psi by the identity");
    }

    #[test]
    fn a_resistance_restated() {
        let k = PneumaticResistance::from_pascal_seconds_per_m4(1e6);
        let same = restate_resistance(k, Reference::default(), COLD);
        near(same.pascal_seconds_per_m4(), 1e6, 1e-12, "same");
        // The k of a tube depends on temperature as that of a cable does.
        let warm = Temperature::from_celsius(40.0);
        let bore = inches(0.25);
        let restated = restate_resistance(tube_resistance(bore, COLD), Reference::default(), warm);
        near(
            restated.pascal_seconds_per_m4(),
            tube_resistance(bore, warm).pascal_seconds_per_m4(),
            1e-12,
            "warm",
        );
        let high = Reference {
            pressure: AbsolutePressure::from_pascals(202_650.0),
            temperature: COLD,
        };
        near(
            restate_resistance(k, high, COLD).pascal_seconds_per_m4(),
            2e6,
            1e-12,
            "counted at twice the pressure",
        );
    }

    #[test]
    fn a_hole() {
        // Worked example ORI-1: 0.01 in, Cd 0.62, 10 psig; the isentropic nozzle, from memory. Tolerance 1 %; the
        // critical ratio agrees with fluids exactly.
        near(choke_ratio(), 1.892_929_158_737_854, 1e-12, "choke ratio");
        let outside = psig(0.0);
        let flow = |gauge| {
            let found = orifice_flow(psig(gauge), outside, inches(0.01), 0.62, COLD);
            to("scfh", found.cubic_metres_per_second())
        };
        near(flow(10.0), 1.309_926_629_062_222, 1e-2, "scfh");
        // If choked, the flow is proportional to the inside absolute pressure.
        near(
            flow(30.0) / flow(20.0),
            psig(30.0).pascals() / psig(20.0).pascals(),
            1e-12,
            "choked",
        );
        assert!(flow(0.0).abs() < 1e-12 && flow(-5.0) < 0.0);
    }

    #[test]
    fn a_hole_has_no_steps() {
        let mut last = f64::NEG_INFINITY;
        for step in 0..6_000_u32 {
            let inside = f64::from(step) * 50.0 + 3.0;
            let (flow, slope) = nozzle_flow(inside, 101_325.0, 1e-9);
            assert!(flow >= last, "{inside} Pa: {flow} after {last}");
            let ahead = nozzle_flow(inside + 0.01, 101_325.0, 1e-9).0;
            assert!(
                ((ahead - flow) / 0.01 - slope).abs() <= 1e-3 * slope + 1e-16,
                "{inside} Pa: slope {slope}"
            );
            last = flow;
        }
    }
}
