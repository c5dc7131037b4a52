//! The laws of air in a tube, a cable and a hole: dry air, steady, isothermal, ideal gas.
//!
//! All of them hold for air near room temperature and below some 10 bar, and for speeds far below that of sound inside
//! tubes: the term for the speeding-up of expanding air, 2·ln(p₁/p₂), is left out, which makes up less than 0.02 % of a
//! drop in the tubes and cables of this trade.
//!
//! Nothing here is linear in pressure. In a laminar line it is the *square* of the absolute pressure that falls evenly,
//! and arithmetic with a constant resistance on pressures is 34 % off at 5 psi mean and 68 % at 10 psi.

use core::f64::consts::PI;

use crate::atmosphere::GAS_CONSTANT;
use crate::measure::{
    AbsolutePressure, Density, Flow, Length, MassFlow, PneumaticResistance, Pressure, Temperature, Viscosity,
    VolumeFlow,
};

/// The Reynolds number up to which a flow is laminar.
pub const LAMINAR_LIMIT: f64 = 2_000.0;
/// The Reynolds number from which a flow is turbulent; between the two nobody can say.
pub const TURBULENT_LIMIT: f64 = 4_000.0;
/// Mean absolute pressure at which a [`PneumaticResistance`] is counted unless it says otherwise, Pa.
const RESISTANCE_PRESSURE: f64 = 101_325.0;
/// Ratio of the specific heats of dry air.
const GAMMA: f64 = 1.4;

/// A pressure and a temperature at which a volume of air is counted. A rating in "standard" cubic feet means nothing
/// without one: those in use lie up to 9 % apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standard {
    /// Absolute pressure of the counted air.
    pub pressure: AbsolutePressure,
    /// Temperature of the counted air.
    pub temperature: Temperature,
}

impl Standard {
    /// 14.696 psia (101.325 kPa) and 60 °F: what a [`Flow`] counts by.
    pub const US_60_F: Self = Self::new(101_325.0, FAHRENHEIT_60);
    /// 14.73 psia and 60 °F, the base of natural gas in the USA. Number from memory.
    pub const US_GAS: Self = Self::new(14.73 * PSI, FAHRENHEIT_60);
    /// 14.696 psia and 68 °F, ASME's test code for displacement compressors. Confirmed in secondary text.
    pub const ASME_68_F: Self = Self::new(101_325.0, (68.0 + 459.67) * 5.0 / 9.0);
    /// 14.696 psia and 70 °F. Common practice, no source.
    pub const US_70_F: Self = Self::new(101_325.0, (70.0 + 459.67) * 5.0 / 9.0);
    /// 101.325 kPa and 15 °C: ISO 13443, ISO 2533. Confirmed in secondary text.
    pub const ISO_13443: Self = Self::new(101_325.0, 288.15);
    /// 100 kPa and 20 °C: ISO 1217's annex, CAGI. Number from memory.
    pub const ISO_1217: Self = Self::new(100_000.0, 293.15);
    /// 101.325 kPa and 0 °C, "normal" litres and cubic metres: DIN 1343, number from memory.
    pub const NORMAL: Self = Self::new(101_325.0, 273.15);

    const fn new(pascals: f64, kelvins: f64) -> Self {
        Self {
            pressure: AbsolutePressure::from_pascals(pascals),
            temperature: Temperature::from_kelvins(kelvins),
        }
    }

    /// Density of dry air at these conditions, ρ = p/(R·T), ideal gas with R = 287.052 87 J/(kg·K); within 0.06 % of a
    /// real-gas library for all conditions named here.
    pub fn density(self) -> Density {
        Density::from_kilograms_per_cubic_metre(self.pressure.pascals() / (GAS_CONSTANT * self.temperature.kelvins()))
    }

    /// How many times as much air a volume holds at these conditions as at those by which a [`Flow`] counts.
    pub fn factor(self) -> f64 {
        self.density().kilograms_per_cubic_metre() / Standard::US_60_F.density().kilograms_per_cubic_metre()
    }

    /// The flow that a volume is, when it is counted at these conditions: what a dryer's or a compressor's rating comes
    /// to. With the pressure and temperature of the air around the office it converts free air delivered.
    pub fn flow(self, volume: VolumeFlow) -> Flow {
        Flow::from_cubic_metres_per_second(volume.cubic_metres_per_second() * self.factor())
    }

    /// The volume at these conditions that a flow is.
    pub fn volume(self, flow: Flow) -> VolumeFlow {
        VolumeFlow::from_cubic_metres_per_second(flow.cubic_metres_per_second() / self.factor())
    }

    /// A figure that was read as if it were counted by [`Standard::US_60_F`], but was meant at these conditions.
    pub fn restate(self, written: Flow) -> Flow {
        written * self.factor()
    }
}

const FAHRENHEIT_60: f64 = (60.0 + 459.67) * 5.0 / 9.0;
const PSI: f64 = 0.453_592_37 * 9.806_65 / (0.025_4 * 0.025_4);

/// The mass of air that a flow is.
pub fn mass_flow(flow: Flow) -> MassFlow {
    MassFlow::from_kilograms_per_second(
        flow.cubic_metres_per_second() * Standard::US_60_F.density().kilograms_per_cubic_metre(),
    )
}

/// The flow that a mass of air is.
pub fn flow_of_mass(mass: MassFlow) -> Flow {
    Flow::from_cubic_metres_per_second(
        mass.kilograms_per_second() / Standard::US_60_F.density().kilograms_per_cubic_metre(),
    )
}

/// Viscosity of dry air, Sutherland's law μ = 1.458e-6·T^1.5/(T + 110.4) Pa·s, numbers from memory (those of ISO 2533).
/// Within 0.5 % of a real-gas library from −40 °C to 60 °C.
pub fn viscosity(temperature: Temperature) -> Viscosity {
    let kelvins = temperature.kelvins();
    Viscosity::from_pascal_seconds(1.458e-6 * kelvins * kelvins.sqrt() / (kelvins + 110.4))
}

/// Pneumatic resistance of a round bore in laminar flow, at a mean absolute pressure of 101 325 Pa: the law of Hagen and
/// Poiseuille for an ideal gas, p₁² − p₂² = (256·μ·L/(π·d⁴))·p_s·(T/T_s)·Q, written as 2·p·k·L·Q (derived).
///
/// Holds up to a Reynolds number of 2000.
pub fn tube_resistance(bore: Length, temperature: Temperature) -> PneumaticResistance {
    let kelvins = temperature.kelvins();
    let standard = Standard::US_60_F;
    let squares = 256.0 * viscosity(temperature).pascal_seconds() / (PI * bore.metres().powi(4))
        * standard.pressure.pascals()
        * (kelvins / standard.temperature.kelvins());
    PneumaticResistance::from_pascal_seconds_per_m4(squares / (2.0 * RESISTANCE_PRESSURE))
}

/// What a cable's pneumatic resistance is counted at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reference {
    /// Mean absolute pressure.
    pub pressure: AbsolutePressure,
    /// Temperature of the air in the cable.
    pub temperature: Temperature,
}

/// 14.696 psia and 60 °F.
impl Default for Reference {
    fn default() -> Self {
        Self {
            pressure: AbsolutePressure::from_pascals(RESISTANCE_PRESSURE),
            temperature: Standard::US_60_F.temperature,
        }
    }
}

/// A pneumatic resistance restated for a mean absolute pressure of 101 325 Pa and for air at `temperature`: the drop is
/// inverse to the pressure and goes with μ·T (derived, from the laminar law).
pub fn restate_resistance(
    resistance: PneumaticResistance,
    reference: Reference,
    temperature: Temperature,
) -> PneumaticResistance {
    let drag = |at: Temperature| viscosity(at).pascal_seconds() * at.kelvins();
    let pressure = reference.pressure.pascals() / RESISTANCE_PRESSURE;
    resistance * (pressure * drag(temperature) / drag(reference.temperature))
}

/// Fall of the squared absolute pressure along a laminar line for each m³/s that flows all the way, Pa²·s/m³:
/// p₁² − p₂² = 2·101 325 Pa·k·L·Q.
pub(crate) fn squares_per_flow(resistance: PneumaticResistance, length: Length) -> f64 {
    2.0 * RESISTANCE_PRESSURE * resistance.pascal_seconds_per_m4() * length.metres()
}

/// Pressure at the far end of a laminar line without usage; none if even a vacuum there would not draw the flow.
/// `resistance` is counted at 101 325 Pa: see [`tube_resistance`] and [`restate_resistance`].
pub fn far_pressure(
    near: AbsolutePressure,
    resistance: PneumaticResistance,
    length: Length,
    flow: Flow,
) -> Option<AbsolutePressure> {
    let squares = near.pascals() * near.pascals() - squares_per_flow(resistance, length) * flow.cubic_metres_per_second();
    (squares > 0.0).then(|| AbsolutePressure::from_pascals(squares.sqrt()))
}

/// Flow through a laminar line without usage between two pressures.
pub fn laminar_flow(
    near: AbsolutePressure,
    far: AbsolutePressure,
    resistance: PneumaticResistance,
    length: Length,
) -> Flow {
    let squares = near.pascals() * near.pascals() - far.pascals() * far.pascals();
    Flow::from_cubic_metres_per_second(squares / squares_per_flow(resistance, length))
}

/// Reynolds number of a flow in a round bore, Re = 4·ṁ/(π·d·μ). It is the same all along a tube, whatever the pressure.
pub fn reynolds(flow: Flow, bore: Length, temperature: Temperature) -> f64 {
    flow.cubic_metres_per_second().abs() * reynolds_per_flow(bore, temperature)
}

/// Flow that has this Reynolds number in a round bore.
pub fn flow_at_reynolds(reynolds: f64, bore: Length, temperature: Temperature) -> Flow {
    Flow::from_cubic_metres_per_second(reynolds / reynolds_per_flow(bore, temperature))
}

pub(crate) fn reynolds_per_flow(bore: Length, temperature: Temperature) -> f64 {
    4.0 * Standard::US_60_F.density().kilograms_per_cubic_metre()
        / (PI * bore.metres() * viscosity(temperature).pascal_seconds())
}

/// How a flow in a round bore behaves.
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

    /// The word for it in a sentence.
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
/// `relative_roughness` is ε/d, 0 for smooth; meant up to 0.05 and usable to 0.1. Other friction laws in use differ from
/// this one by about 1 % in smooth tubes.
pub fn friction_factor(reynolds: f64, relative_roughness: f64) -> f64 {
    friction_number(reynolds, relative_roughness) / (reynolds * reynolds)
}

/// Colebrook's law turned round. With s = Re·√f it is Re = −2·s·log₁₀(ε/(3.7·d) + 2.51/s): no search is needed to find the
/// flow from the drop. Returns Re and its slope dRe/ds.
fn colebrook(s: f64, relative_roughness: f64) -> (f64, f64) {
    let smooth = 2.51 / s;
    let sum = relative_roughness / 3.7 + smooth;
    let root = -2.0 * sum.log10();
    (s * root, root + core::f64::consts::LOG10_E * 2.0 * smooth / sum)
}

/// f·Re² and its slope by Re in turbulent flow.
fn turbulent_number(reynolds: f64, relative_roughness: f64) -> (f64, f64) {
    let mut s = reynolds * 0.2;
    let mut slope = 5.0;
    // Re(s) is concave and nearly straight: Newton settles in three or four steps from any start.
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
fn bridge(relative_roughness: f64) -> [f64; 4] {
    let width = TURBULENT_LIMIT - LAMINAR_LIMIT;
    let (end, slope) = turbulent_number(TURBULENT_LIMIT, relative_roughness);
    let start = 64.0 * LAMINAR_LIMIT;
    let (rise, near, far) = (end - start, 64.0 * width, slope * width);
    [start, near, 3.0 * rise - 2.0 * near - far, near + far - 2.0 * rise]
}

fn cubic([a, b, c, d]: [f64; 4], t: f64) -> (f64, f64) {
    (a + t * (b + t * (c + t * d)), b + t * (2.0 * c + t * 3.0 * d))
}

/// f·Re², which is what a drop of squared pressure is in proportion to, for Re ≥ 0.
pub(crate) fn friction_number(reynolds: f64, relative_roughness: f64) -> f64 {
    friction_number_and_slope(reynolds, relative_roughness).0
}

pub(crate) fn friction_number_and_slope(reynolds: f64, relative_roughness: f64) -> (f64, f64) {
    match Regime::of(reynolds) {
        Regime::Laminar => (64.0 * reynolds, 64.0),
        Regime::Uncertain => {
            let width = TURBULENT_LIMIT - LAMINAR_LIMIT;
            let (number, slope) = cubic(bridge(relative_roughness), (reynolds - LAMINAR_LIMIT) / width);
            (number, slope / width)
        }
        Regime::Turbulent => turbulent_number(reynolds, relative_roughness),
    }
}

/// The Reynolds number whose f·Re² this is, and its slope by it, for a number ≥ 0.
pub(crate) fn reynolds_of_number(number: f64, relative_roughness: f64) -> (f64, f64) {
    if number <= 64.0 * LAMINAR_LIMIT {
        return (number / 64.0, 1.0 / 64.0);
    }
    let (reynolds, slope) = colebrook(number.sqrt(), relative_roughness);
    if reynolds >= TURBULENT_LIMIT {
        return (reynolds, slope / (2.0 * number.sqrt()));
    }
    let width = TURBULENT_LIMIT - LAMINAR_LIMIT;
    let curve = bridge(relative_roughness);
    let (mut low, mut high, mut t) = (0.0, 1.0, 0.5);
    // The cubic rises all the way: Newton, kept between bounds.
    for _ in 0..60 {
        let (found, rise) = cubic(curve, t);
        if found < number {
            low = t;
        } else {
            high = t;
        }
        let next = t - (found - number) / rise;
        let next = if next > low && next < high {
            next
        } else {
            f64::midpoint(low, high)
        };
        let moved = (next - t).abs();
        t = next;
        if moved <= 1e-15 {
            break;
        }
    }
    (LAMINAR_LIMIT + width * t, width / cubic(curve, t).1)
}

/// How many times the outer absolute pressure chokes a hole: ((γ + 1)/2)^(γ/(γ − 1)), 1.893 for air (textbook, isentropic
/// nozzle).
pub fn choke_ratio() -> f64 {
    f64::midpoint(GAMMA, 1.0).powf(GAMMA / (GAMMA - 1.0))
}

/// Gauge pressure above which a hole chokes: beyond it the flow no longer depends on the pressure outside.
pub fn choke_pressure(outside: AbsolutePressure) -> Pressure {
    AbsolutePressure::from_pascals(outside.pascals() * choke_ratio()) - outside
}

/// Flow through a round hole: the isentropic nozzle (textbook, from memory), choked above [`choke_ratio`], times a
/// discharge coefficient (0.62 for a sharp edge, an assumption). Negative if the air outside has the higher pressure.
///
/// Below a difference of 10 Pa the true root law, infinitely steep at nothing, is replaced by a cubic that meets it there.
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

/// Flow for each Pa before a nozzle whose pressure function ψ (see [`nozzle_flow`]) is 1, m³/(s·Pa).
pub(crate) fn nozzle_scale(hole: Length, coefficient: f64, temperature: Temperature) -> f64 {
    let area = PI / 4.0 * hole.metres() * hole.metres();
    let speed = (2.0 * GAMMA / ((GAMMA - 1.0) * GAS_CONSTANT * temperature.kelvins())).sqrt();
    coefficient * area * speed / Standard::US_60_F.density().kilograms_per_cubic_metre()
}

/// Flow out of a nozzle in m³/s, and its slope by the pressure inside.
pub(crate) fn nozzle_flow(inside: f64, outside: f64, scale: f64) -> (f64, f64) {
    /// Difference below which the root law is rounded off, Pa.
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
    let psi_slope =
        2.0 / GAMMA * ratio.powf(2.0 / GAMMA - 1.0) - (GAMMA + 1.0) / GAMMA * ratio.powf(1.0 / GAMMA);
    let root = psi.sqrt();
    if difference > 0.0 {
        (scale * high * root, scale * (root - ratio * psi_slope / (2.0 * root)))
    } else if low / high > ratio - 1e-12 {
        (-scale * high * root, (-scale * psi_slope / (2.0 * root)).max(0.0))
    } else {
        (-scale * high * root, 0.0)
    }
}

