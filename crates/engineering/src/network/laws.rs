//! The law of each element, prepared for evaluation: flow as a function of squared pressures, and its slopes.

use super::leakage::{Following, Leakage, LeakingLaw};
use super::loss::LossLaw;
use super::{Conditions, ConnectedLink, Leak, Link, Regulator, Section, Supply, Tube};
use crate::air::{
    Regime, nozzle_flow, nozzle_scale, restate_resistance, reynolds_per_flow, squares_per_flow, tube_resistance,
};
use crate::friction::Friction;
use crate::measure::{AbsolutePressure, Flow, Length, PneumaticResistance, Pressure};
use crate::standard::StandardConditions;

/// Resistance of a fitting or an open check valve, Pa²·s/m³: 0.1 Pa for 1e-4 m³/s at 170 kPa.
const FITTING: f64 = 3.4e8;
/// Resistance of a supply or a held pressure, and least resistance of a line, Pa²·s/m³: 1e-4 Pa for 1e-4 m³/s at 170
/// kPa.
const SUPPLY_RESISTANCE: f64 = 3.4e5;
/// Conductance of an opening to the surrounding air, m³/s per Pa².
pub(super) const OPENING_CONDUCTANCE: f64 = 1.0 / SUPPLY_RESISTANCE;
/// Least droop of a regulator, Pa·s/m³.
const LEAST_DROOP: f64 = 10.0;
/// Leakage of a closed valve, m³/s per Pa² across it.
const CLOSED_CONDUCTANCE: f64 = 1e-29;
/// Conductance of the relief of a supply or regulator above its own pressure, m³/s per Pa²: it leads out of the
/// network, so that it affects no other device. It exceeds the seepage through valves, so that a closed-off part
/// between the two takes the pressure of the supply or regulator.
const RELIEF: f64 = 1e-22;
/// Below this pressure the root of P is replaced by its tangent, Pa.
const ROOT_ENDS: f64 = 1_000.0;

/// Softening of devices for convergence. The conductances of an open and a closed valve differ by fifteen orders of
/// magnitude, and Newton's steps can jump between them endlessly; soft devices have a smaller range.
#[derive(Clone, Copy, Debug)]
pub(super) struct Relaxation {
    /// Least resistance of open devices, Pa²·s/m³.
    pub open: f64,
    /// Least leakage of closed devices, m³/s per Pa².
    pub shut: f64,
}

impl Relaxation {
    /// No softening: the exact laws.
    pub const NONE: Self = Self { open: 0.0, shut: 0.0 };

    fn supply_conductance(self) -> f64 {
        1.0 / SUPPLY_RESISTANCE.max(self.open)
    }

    fn fitting(self) -> f64 {
        1.0 / FITTING.max(self.open)
    }

    pub fn closed_conductance(self) -> f64 {
        CLOSED_CONDUCTANCE.max(self.shut)
    }

    fn relief(self) -> f64 {
        RELIEF.max(self.shut)
    }
}

/// A flow and its derivatives by the squared pressures before and behind. The derivative by the pressure behind has its
/// sign reversed, so that neither is negative.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct FlowAndSlopes {
    pub flow: f64,
    pub before: f64,
    pub behind: f64,
}

impl FlowAndSlopes {
    pub fn linear(conductance: f64, from: f64, to: f64) -> Self {
        Self {
            flow: conductance * (from - to),
            before: conductance,
            behind: conductance,
        }
    }
}

/// A tube or section. Only round bores have a friction law.
#[derive(Clone, Copy, Debug)]
pub(super) struct LineLaw {
    /// k at 101 325 Pa and the temperature of the air in it.
    pub resistance: PneumaticResistance,
    pub length: f64,
    /// Decrease of P per flow in laminar flow, Pa²·s/m³.
    pub squares: f64,
    pub usage: f64,
    pub bore: Option<Bore>,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Bore {
    /// Reynolds number per m³/s.
    pub reynolds: f64,
    pub friction: Friction,
}

impl LineLaw {
    pub fn tube(tube: &Tube, conditions: &Conditions) -> Self {
        let resistance = tube_resistance(tube.bore, conditions.temperature);
        Self {
            resistance,
            length: tube.length.metres(),
            squares: squares_per_flow(resistance, tube.length).max(SUPPLY_RESISTANCE),
            usage: tube.usage.cubic_metres_per_second(),
            bore: Some(Bore {
                reynolds: reynolds_per_flow(tube.bore, conditions.temperature),
                friction: Friction::new(tube.roughness.metres() / tube.bore.metres()),
            }),
        }
    }

    pub fn section(section: &Section, conditions: &Conditions) -> Self {
        let temperature = section.temperature.unwrap_or(conditions.temperature);
        let resistance = restate_resistance(section.resistance, section.reference, temperature);
        Self {
            resistance,
            length: section.length.metres(),
            squares: squares_per_flow(resistance, section.length).max(SUPPLY_RESISTANCE),
            usage: section.usage.cubic_metres_per_second(),
            bore: None,
        }
    }

    /// Decrease of P along the line if this flow passed its whole length, and the derivative. In a round bore P falls
    /// by 16·f·L·ṁ²·R·T/(π²·d⁵), which is the laminar decrease times f·Re/64.
    fn fall(&self, flow: f64) -> (f64, f64) {
        let Some(bore) = self.bore else {
            return (self.squares * flow, self.squares);
        };
        let (number, slope) = bore.friction.number(flow.abs() * bore.reynolds);
        let scale = self.squares / (64.0 * bore.reynolds);
        (flow.signum() * scale * number, scale * bore.reynolds * slope)
    }

    /// The highest Reynolds number along a round bore. `None` for a cable.
    pub fn reynolds(&self, flow: f64) -> Option<f64> {
        self.bore.map(|bore| (flow.abs() + self.usage / 2.0) * bore.reynolds)
    }

    fn is_laminar_throughout(&self, flow: f64) -> bool {
        self.reynolds(flow)
            .is_none_or(|highest| highest <= crate::air::LAMINAR_LIMIT)
    }

    /// Decrease of P from the start of the line to `part` of its length, when `flow` passes its middle.
    ///
    /// Usage makes the flow decrease linearly along the line, from `flow + usage/2` to `flow − usage/2`. In laminar
    /// flow the integral is a parabola; otherwise it is computed by three-point Gauss quadrature, in pieces.
    pub fn fall_to(&self, flow: f64, part: f64) -> f64 {
        if self.is_laminar_throughout(flow) {
            return self.squares * part * (flow + self.usage / 2.0 * (1.0 - part));
        }
        if self.usage == 0.0 {
            return self.fall(flow).0 * part;
        }
        self.integral(flow, part, self.pieces(flow)).0
    }

    /// Position of the lowest pressure as a fraction of the length, if usage reverses the flow inside. `None` if it is
    /// at an end.
    pub fn lowest(&self, flow: f64) -> Option<f64> {
        (2.0 * flow.abs() < self.usage).then(|| 0.5 + flow / self.usage)
    }

    /// Number of pieces for Gauss quadrature: more where the flow changes much along the line, or between regimes.
    /// Where it changes by at most a tenth, one piece is accurate to 1e-10 (compared with eight).
    fn pieces(&self, flow: f64) -> u8 {
        let changes_little = self.usage <= 0.1 * flow.abs();
        let is_one_regime = self.bore.is_none_or(|bore| {
            let regime = |flow: f64| Regime::of(flow.abs() * bore.reynolds);
            regime(flow - self.usage / 2.0) == regime(flow + self.usage / 2.0)
        });
        if changes_little && is_one_regime { 1 } else { 8 }
    }

    fn integral(&self, flow: f64, part: f64, pieces: u8) -> (f64, f64) {
        // Abscissas and weights on 0..1, textbook.
        const POINTS: [(f64, f64); 3] = [
            (0.112_701_665_379_258_3, 5.0 / 18.0),
            (0.5, 8.0 / 18.0),
            (0.887_298_334_620_741_7, 5.0 / 18.0),
        ];
        let share = part / f64::from(pieces);
        let (mut sum, mut slopes) = (0.0, 0.0);
        for piece in 0..pieces {
            for (point, weight) in POINTS {
                let x = share * (f64::from(piece) + point);
                let (fall, slope) = self.fall(flow + self.usage * (0.5 - x));
                sum += weight * fall;
                slopes += weight * slope;
            }
        }
        (sum * share, slopes * share)
    }

    /// Flow past the middle of the line for a decrease of P from end to end, and the derivative.
    fn flow(&self, fall: f64) -> (f64, f64) {
        let laminar = fall / self.squares;
        if self.is_laminar_throughout(laminar) {
            return (laminar, 1.0 / self.squares);
        }
        let Some(bore) = self.bore else {
            return (laminar, 1.0 / self.squares);
        };
        let scale = self.squares / (64.0 * bore.reynolds);
        let (reynolds, slope) = bore.friction.reynolds(fall.abs() / scale);
        let flow = reynolds.copysign(fall) / bore.reynolds;
        let slope = slope / (scale * bore.reynolds);
        if self.usage == 0.0 {
            return (flow, slope);
        }
        self.flow_with_usage(fall, flow)
    }

    /// The same for a line with usage, whose law has no closed inverse: Newton's method on the integral, kept within
    /// bounds.
    fn flow_with_usage(&self, fall: f64, start: f64) -> (f64, f64) {
        let reach = start.abs() + self.usage;
        let (mut low, mut high, mut flow) = (-reach, reach, start);
        let mut slope = self.squares;
        let pieces = self.pieces(start);
        for _ in 0..80 {
            let (found, rise) = self.integral(flow, 1.0, pieces);
            slope = rise;
            if found < fall {
                low = flow;
            } else {
                high = flow;
            }
            let step = (found - fall) / rise;
            let next = flow - step;
            // The error left is about the square of the last step. Check before the bounds: the root itself may have become one of them.
            if step.abs() <= 1e-8 * reach {
                flow = next;
                break;
            }
            flow = if next > low && next < high {
                next
            } else {
                f64::midpoint(low, high)
            };
        }
        (flow, 1.0 / slope)
    }
}

/// A regulator in absolute pressures.
#[derive(Clone, Copy, Debug)]
pub(super) struct RegulatorLaw {
    pub set: f64,
    pub differential: f64,
    droop: f64,
    /// Pressure lost per flow when wide open, Pa·s/m³.
    loss: f64,
    /// Pressure that it takes even when it is wide open: nothing, or all of its differential where it is held back.
    takes: f64,
}

impl RegulatorLaw {
    fn new(regulator: &Regulator, held_back: bool, conditions: &Conditions) -> Self {
        let set = (conditions.ambient + regulator.set).pascals();
        let differential = regulator.differential.pascals();
        let loss = match regulator.rated {
            // What is held back takes that already.
            Some(rated) if !held_back => differential / rated.cubic_metres_per_second(),
            _ => 0.0,
        };
        Self {
            set,
            differential,
            droop: regulator.droop.pascal_seconds_per_m3().max(LEAST_DROOP),
            loss: loss.max(FITTING / (2.0 * set)),
            takes: if held_back { differential } else { 0.0 },
        }
    }

    /// Flow by the droop line, and flow of the wide-open valve, for these pressures.
    fn both(&self, from: f64, to: f64, relaxation: Relaxation) -> (FlowAndSlopes, FlowAndSlopes) {
        let droop = self.droop.max(relaxation.open / (2.0 * self.set));
        let outlet = root(to);
        let line = if to <= self.set * self.set {
            FlowAndSlopes {
                flow: (self.set - outlet.0) / droop,
                before: 0.0,
                behind: outlet.1 / droop,
            }
        } else {
            FlowAndSlopes::default()
        };
        let (supply, slope) = root(from);
        let left = supply - self.takes;
        let open = if left >= outlet.0 {
            let loss = self.loss.max(relaxation.open / (2.0 * self.set));
            FlowAndSlopes {
                flow: (left - outlet.0) / loss,
                before: slope / loss,
                behind: outlet.1 / loss,
            }
        } else {
            let shut = FlowAndSlopes::linear(relaxation.closed_conductance(), left * left.abs(), to);
            FlowAndSlopes {
                // Never quite nothing, so that a supply at its differential keeps a derivative.
                before: shut.before * (2.0 * left.abs() * slope).max(1e-3),
                ..shut
            }
        };
        (line, open)
    }

    fn through(&self, from: f64, to: f64, relaxation: Relaxation) -> FlowAndSlopes {
        let (line, open) = self.both(from, to, relaxation);
        if line.flow <= open.flow { line } else { open }
    }

    /// The squared pressure before it from which on it passes air to this one behind it, Pa².
    pub fn opens_at(&self, to: f64) -> f64 {
        (root(to).0 + self.takes).powi(2)
    }

    /// Whether it is wide open: the supply, not the droop line, determines the flow.
    pub fn is_wide_open(&self, from: f64, to: f64) -> bool {
        let (line, open) = self.both(from, to, Relaxation::NONE);
        open.flow < line.flow
    }
}

fn one_way(conductance: f64, from: f64, to: f64, relaxation: Relaxation) -> FlowAndSlopes {
    FlowAndSlopes::linear(
        if from >= to {
            conductance
        } else {
            relaxation.closed_conductance()
        },
        from,
        to,
    )
}

/// √P and its derivative, extended linearly below [`ROOT_ENDS`] so that an overshooting step still gives a number.
pub(super) fn root(squared: f64) -> (f64, f64) {
    const LEAST: f64 = ROOT_ENDS * ROOT_ENDS;
    if squared >= LEAST {
        let root = squared.sqrt();
        (root, 0.5 / root)
    } else {
        (ROOT_ENDS + (squared - LEAST) * 0.5 / ROOT_ENDS, 0.5 / ROOT_ENDS)
    }
}

/// The law of a link between two nodes.
#[derive(Clone, Copy, Debug)]
pub(super) enum Law {
    Line(LineLaw),
    Leaking(LeakingLaw),
    Regulator(RegulatorLaw),
    CheckValve,
    Loss(LossLaw),
    Fitting,
}

impl Law {
    pub fn new(joined: &ConnectedLink, conditions: &Conditions) -> Self {
        match (&joined.link, &joined.leakage) {
            (Link::Tube(tube), leakage) => {
                let mut line = LineLaw::tube(tube, conditions);
                if let Some(leakage) = leakage {
                    line.usage = leakage.usage().cubic_metres_per_second();
                }
                Law::Line(line)
            }
            (Link::Section(_), Some(leakage)) => Law::Leaking(LeakingLaw::new(leakage)),
            (Link::Section(section), None) => Law::Line(LineLaw::section(section, conditions)),
            (Link::Regulator(regulator), _) => {
                Law::Regulator(RegulatorLaw::new(regulator, joined.held_back, conditions))
            }
            (Link::CheckValve, _) => Law::CheckValve,
            (Link::Restriction { loss, one_way }, _) => {
                Law::Loss(LossLaw::new(loss, *one_way, conditions.ambient.pascals()))
            }
            (Link::Fitting, _) => Law::Fitting,
        }
    }

    pub fn through(&self, from: f64, to: f64, relaxation: Relaxation) -> FlowAndSlopes {
        match self {
            Law::Line(line) => {
                let (flow, slope) = line.flow(from - to);
                FlowAndSlopes {
                    flow,
                    before: slope,
                    behind: slope,
                }
            }
            Law::Leaking(line) => FlowAndSlopes::linear(line.through, from, to),
            Law::Regulator(valve) => valve.through(from, to, relaxation),
            Law::CheckValve => one_way(relaxation.fitting(), from, to, relaxation),
            Law::Loss(loss) => loss.through(from, to, relaxation),
            Law::Fitting => FlowAndSlopes::linear(relaxation.fitting(), from, to),
        }
    }

    /// Resistance of a line in laminar flow, Pa²·s/m³. `None` for other links.
    pub fn line_resistance(&self) -> Option<f64> {
        match self {
            Law::Line(line) => Some(line.squares),
            Law::Leaking(leaking) => Some(leaking.line.squares),
            Law::Regulator(_) | Law::CheckValve | Law::Loss(_) | Law::Fitting => None,
        }
    }

    /// Converts a distance from the start of a line to a fraction of its length. `None` beyond its ends, and for links
    /// that are not lines.
    pub fn part(&self, from_start: Length) -> Option<f64> {
        const ROUNDING: f64 = 1e-9;
        let length = match self {
            Law::Line(line) => line.length,
            Law::Leaking(leaking) => leaking.line.length,
            Law::Regulator(_) | Law::CheckValve | Law::Loss(_) | Law::Fitting => return None,
        };
        let part = if length > 0.0 {
            from_start.metres() / length
        } else {
            0.0
        };
        // A distance that was converted from another unit may be a rounding beyond an end.
        (-ROUNDING..=1.0 + ROUNDING)
            .contains(&part)
            .then(|| part.clamp(0.0, 1.0))
    }

    /// Pressure-independent usage along it.
    pub fn usage(&self) -> f64 {
        match self {
            Law::Line(line) => line.usage,
            Law::Leaking(_) | Law::Regulator(_) | Law::CheckValve | Law::Loss(_) | Law::Fitting => 0.0,
        }
    }

    /// Whether air can pass against the arrow.
    pub fn both_ways(&self) -> bool {
        match self {
            Law::Line(_) | Law::Leaking(_) | Law::Fitting => true,
            Law::Loss(loss) => !loss.one_way,
            Law::Regulator(_) | Law::CheckValve => false,
        }
    }
}

/// A flow out of the network at a node, and its derivative by the squared pressure there.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Outflow {
    pub flow: f64,
    pub slope: f64,
}

impl Outflow {
    fn linear(conductance: f64, inside: f64, outside: f64) -> Self {
        Self {
            flow: conductance * (inside - outside),
            slope: conductance,
        }
    }
}

/// The law of a boundary: flow between a node and the outside.
#[derive(Clone, Copy, Debug)]
pub(super) enum Boundary {
    Supply {
        squared: f64,
        /// Highest flow that it delivers, m³/s.
        most: f64,
    },
    Held {
        squared: f64,
    },
    /// The relief of a regulator, at its outlet.
    Relief {
        squared: f64,
    },
    Laminar {
        outside: f64,
        conductance: f64,
    },
    Nozzle {
        outside: f64,
        scale: f64,
    },
    /// Pressure-dependent loss of a line at one of its ends, beyond its usage.
    Following(Following),
    /// Air that fills a volume over a step of time.
    Stored(Stored),
}

/// Air taken in by a volume in a time step: (content(p) − before)·rate.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stored {
    /// Content of the volume per Pa, in the same measure as flows: m³.
    pub capacity: f64,
    /// Content before the step, m³.
    pub before: f64,
    /// Reciprocal of the length of the step, 1/s.
    pub rate: f64,
}

impl Boundary {
    /// A supply with unlimited flow.
    pub fn supply(supply: &Supply, conditions: &Conditions) -> Self {
        Boundary::Supply {
            squared: squared(supply.delivers, conditions),
            most: f64::INFINITY,
        }
    }

    pub fn held(gauge: Pressure, conditions: &Conditions) -> Self {
        Boundary::Held {
            squared: squared(gauge, conditions),
        }
    }

    pub fn relief(law: &Law) -> Option<Self> {
        match law {
            Law::Regulator(valve) => Some(Boundary::Relief {
                squared: valve.set * valve.set,
            }),
            Law::Line(_) | Law::Leaking(_) | Law::CheckValve | Law::Loss(_) | Law::Fitting => None,
        }
    }

    /// Pressure-dependent loss of a line at its start and at its end, beyond its pressure-independent usage.
    pub fn leakage(law: &Law, leakage: Option<&Leakage>) -> Option<(Self, Self)> {
        match (law, leakage) {
            (Law::Leaking(line), _) => {
                let outside = line.outside;
                let to_air = |conductance| Boundary::Laminar { outside, conductance };
                Some((to_air(line.at_start), to_air(line.at_end)))
            }
            (Law::Line(_), Some(leakage)) => {
                let (start, end) = leakage.at_ends();
                Some((Boundary::Following(start), Boundary::Following(end)))
            }
            _ => None,
        }
    }

    pub fn leak(leak: &Leak, conditions: &Conditions) -> Self {
        let outside = conditions.ambient.pascals();
        match leak {
            Leak::Laminar { resistance } => Boundary::Laminar {
                outside: outside * outside,
                conductance: 1.0
                    / (2.0 * StandardConditions::BASE.pressure().pascals() * resistance.pascal_seconds_per_m3())
                        .max(FITTING),
            },
            Leak::Orifice { hole, coefficient } => Boundary::Nozzle {
                outside,
                scale: nozzle_scale(*hole, *coefficient, conditions.temperature),
            },
        }
    }

    /// Whether it can deliver air.
    pub fn gives(&self) -> bool {
        matches!(self, Boundary::Supply { .. } | Boundary::Held { .. })
    }

    /// Flow out of the node at this squared pressure.
    pub fn out(&self, at: f64, relaxation: Relaxation) -> Outflow {
        match *self {
            Boundary::Supply { squared, most } => {
                // Difference of P below its own pressure at which it delivers its maximum. Beyond that, seepage keeps
                // the derivative positive.
                let reach = most / relaxation.supply_conductance();
                // The search starts exactly at this pressure, and needs the derivative of the delivering side.
                if at > squared {
                    Outflow::linear(relaxation.relief(), at, squared)
                } else if squared - at <= reach {
                    Outflow::linear(relaxation.supply_conductance(), at, squared)
                } else {
                    let beyond = Outflow::linear(relaxation.relief(), at, squared - reach);
                    Outflow {
                        flow: beyond.flow - most,
                        ..beyond
                    }
                }
            }
            Boundary::Relief { squared } => {
                let conductance = if at > squared { relaxation.relief() } else { 0.0 };
                Outflow::linear(conductance, at, squared)
            }
            Boundary::Held { squared } => Outflow::linear(relaxation.supply_conductance(), at, squared),
            Boundary::Laminar { outside, conductance } => Outflow::linear(conductance, at, outside),
            Boundary::Following(Following { normal, conductance }) => Outflow::linear(conductance, at, normal),
            Boundary::Stored(Stored { capacity, before, rate }) => {
                let (pressure, slope) = root(at);
                Outflow {
                    flow: (capacity * pressure - before) * rate,
                    slope: capacity * slope * rate,
                }
            }
            Boundary::Nozzle { outside, scale } => {
                let (inside, slope) = root(at);
                let (flow, steep) = nozzle_flow(inside.max(0.0), outside, scale);
                Outflow {
                    flow,
                    slope: steep * slope,
                }
            }
        }
    }
}

fn squared(gauge: Pressure, conditions: &Conditions) -> f64 {
    let pressure = (conditions.ambient + gauge).pascals();
    pressure * pressure
}

/// The pressure with this square.
pub(super) fn pressure(squared: f64) -> AbsolutePressure {
    AbsolutePressure::from_pascals(squared.max(0.0).sqrt())
}

/// A flow from a figure in m³/s.
pub(super) fn flow(figure: f64) -> Flow {
    Flow::from_cubic_metres_per_second(figure)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Temperature;

    #[test]
    fn where_the_flow_changes_little_one_piece_is_as_good_as_eight() {
        let conditions = Conditions {
            ambient: AbsolutePressure::from_pascals(101_325.0),
            temperature: Temperature::from_kelvins(288.15),
        };
        let mut compared = 0;
        for roughness in [0.0, 0.05e-3, 0.5e-3] {
            for (flow, usage) in (1..=60)
                .map(|step| f64::from(step) * 2e-4)
                .flat_map(|flow| [(flow, 0.1), (flow, 0.01)])
            {
                let line = LineLaw::tube(
                    &Tube {
                        bore: Length::from_metres(0.01),
                        length: Length::from_metres(100.0),
                        roughness: Length::from_metres(roughness),
                        usage: Flow::from_cubic_metres_per_second(flow * usage),
                    },
                    &conditions,
                );
                if line.pieces(flow) == 1 {
                    let [(one, one_slope), (eight, eight_slope)] =
                        [1, 8].map(|pieces| line.integral(flow, 0.7, pieces));
                    assert!((one / eight - 1.0).abs() < 1e-10, "{flow} m³/s: {one}, {eight}");
                    assert!(
                        (one_slope / eight_slope - 1.0).abs() < 1e-8,
                        "{flow} m³/s: {one_slope}, {eight_slope}"
                    );
                    compared += 1;
                }
            }
        }
        assert!(compared > 300, "{compared}");
    }
}
