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

/// Darcy's friction factor: 64/Re up to 2000; Colebrook's 1/√f = −2·log₁₀(ε/(3.7·d) + 2.51/(Re·√f)) from 4000 (number
/// from memory); between them f·Re² follows the one cubic that meets both laws in value and slope, which is how EPANET
/// bridges the gap too (from memory).
///
/// `relative_roughness` is ε/d, 0 for smooth; meant up to 0.05 and usable to 0.1. Other friction laws in use differ
/// from this one by about 1 % in smooth tubes.
pub fn friction_factor(reynolds: f64, relative_roughness: f64) -> f64 {
    friction_number(reynolds, relative_roughness) / (reynolds * reynolds)
}

/// Colebrook's law inverted. With s = Re·√f it is Re = −2·s·log₁₀(ε/(3.7·d) + 2.51/s): the flow follows from the drop
/// without a search. Returns Re and its slope dRe/ds.
fn colebrook(s: f64, relative_roughness: f64) -> (f64, f64) {
    let smooth = 2.51 / s;
    let sum = relative_roughness / 3.7 + smooth;
    let root = -2.0 * sum.log10();
    (s * root, root + core::f64::consts::LOG10_E * 2.0 * smooth / sum)
}

/// f·Re² and its derivative by Re in turbulent flow.
fn turbulent_number(reynolds: f64, relative_roughness: f64) -> (f64, f64) {
    let mut s = reynolds * 0.2;
    let mut slope = 5.0;
    // Re(s) is concave and nearly straight: Newton converges in three or four steps from any start.
    for _ in 0..20 {
        let (found, now) = colebrook(s, relative_roughness);
        slope = now;
        let step = (found - reynolds) / slope;
        s = (s - step).max(0.1 * s);
        if step.abs() <= 1e-14 * s {
            break;
        }
    }
    (s * s, 2.0 * s / slope)
}

/// The cubic between the two laws, in t = 0..1 from Re 2000 to 4000: its coefficients from t⁰ to t³.
fn transition_cubic(relative_roughness: f64) -> [f64; 4] {
    let width = TURBULENT_LIMIT - LAMINAR_LIMIT;
    let (end, slope) = turbulent_number(TURBULENT_LIMIT, relative_roughness);
    let start = 64.0 * LAMINAR_LIMIT;
    let (rise, near, far) = (end - start, 64.0 * width, slope * width);
    [start, near, 3.0 * rise - 2.0 * near - far, near + far - 2.0 * rise]
}

fn cubic([zeroth, first, second, third]: [f64; 4], t: f64) -> (f64, f64) {
    (
        zeroth + t * (first + t * (second + t * third)),
        first + t * (2.0 * second + t * 3.0 * third),
    )
}

/// f·Re², which a drop of squared pressure is proportional to, for Re ≥ 0.
pub(crate) fn friction_number(reynolds: f64, relative_roughness: f64) -> f64 {
    friction_number_and_slope(reynolds, relative_roughness).0
}

pub(crate) fn friction_number_and_slope(reynolds: f64, relative_roughness: f64) -> (f64, f64) {
    match Regime::of(reynolds) {
        Regime::Laminar => (64.0 * reynolds, 64.0),
        Regime::Uncertain => {
            let width = TURBULENT_LIMIT - LAMINAR_LIMIT;
            let (number, slope) = cubic(transition_cubic(relative_roughness), (reynolds - LAMINAR_LIMIT) / width);
            (number, slope / width)
        }
        Regime::Turbulent => turbulent_number(reynolds, relative_roughness),
    }
}

/// The Reynolds number for a value of f·Re² ≥ 0, and its derivative by that.
pub(crate) fn reynolds_of_number(number: f64, relative_roughness: f64) -> (f64, f64) {
    if number <= 64.0 * LAMINAR_LIMIT {
        return (number / 64.0, 1.0 / 64.0);
    }
    let (reynolds, slope) = colebrook(number.sqrt(), relative_roughness);
    if reynolds >= TURBULENT_LIMIT {
        return (reynolds, slope / (2.0 * number.sqrt()));
    }
    let width = TURBULENT_LIMIT - LAMINAR_LIMIT;
    let curve = transition_cubic(relative_roughness);
    let (mut low, mut high, mut t) = (0.0, 1.0, 0.5);
    // The cubic is monotonic: Newton's method, kept within bounds.
    for _ in 0..60 {
        let (found, rise) = cubic(curve, t);
        if found < number {
            low = t;
        } else {
            high = t;
        }
        let step = (found - number) / rise;
        // Check before the bounds: the root itself may have become one of them.
        if step.abs() <= 1e-15 {
            break;
        }
        let next = t - step;
        t = if next > low && next < high {
            next
        } else {
            f64::midpoint(low, high)
        };
    }
    (LAMINAR_LIMIT + width * t, width / cubic(curve, t).1)
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
    use crate::figures::quantity;
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

    fn near(found: f64, expected: f64, part: f64, what: &str) {
        assert!(
            (found / expected - 1.0).abs() <= part,
            "{what}: {found}, expected {expected}"
        );
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
    fn friction() {
        // Worked example AIR-5, Colebrook in a smooth tube at Re 6456 as fluids gives it.
        near(
            friction_factor(6_456.202_542_739_29, 0.0),
            0.034_781_867_849_034,
            1e-6,
            "f",
        );
        near(friction_factor(1_000.0, 0.0), 0.064, 1e-12, "laminar");
        // Colebrook's own equation, in a rough tube.
        let f: f64 = friction_factor(50_000.0, 0.01);
        near(
            f.sqrt().recip(),
            -2.0 * (0.01 / 3.7 + 2.51 / (50_000.0 * f.sqrt())).log10(),
            1e-12,
            "1/√f",
        );
    }

    #[test]
    fn friction_has_no_steps_and_turns_round() {
        for rough in [0.0, 1e-4, 0.01, 0.05, 0.1] {
            let mut last = 0.0;
            for step in 1..4_000_u32 {
                let re = f64::from(step) * 2.5;
                let (number, slope) = friction_number_and_slope(re, rough);
                assert!(number > last, "Re {re}, {rough}: {number} after {last}");
                assert!(slope >= 63.9, "Re {re}, {rough}: slope {slope}");
                let ahead = friction_number(re + 1e-3, rough);
                assert!(
                    ((ahead - number) / 1e-3 / slope - 1.0).abs() < 1e-3,
                    "Re {re}, {rough}: slope {slope}"
                );
                let (back, rise) = reynolds_of_number(number, rough);
                near(back, re, 1e-9, "Re");
                near(rise * slope, 1.0, 1e-6, "slopes");
                last = number;
            }
        }
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
