//! The law of each piece, ready to be evaluated: flow as a function of squared pressures, and its slopes.

use super::leakage::{Following, Leakage, LeakingLaw};
use super::loss::LossLaw;
use super::{Conditions, Joined, Leak, Link, Regulator, Section, Supply, Tube};
use crate::air::{
    Regime, friction_number_and_slope, nozzle_flow, nozzle_scale, restate_resistance, reynolds_of_number,
    reynolds_per_flow, squares_per_flow, tube_resistance,
};
use crate::measure::{AbsolutePressure, Flow, Length, PneumaticResistance, Pressure};
use crate::standard::Standard;

/// What a fitting or an open check valve puts in the way, Pa²·s/m³: 0.1 Pa for 1e-4 m³/s at 170 kPa.
const FITTING: f64 = 3.4e8;
/// What a supply or a held pressure gives way by, and the least that a line puts in the way, Pa²·s/m³: 1e-4 Pa for 1e-4 m³/s
/// at 170 kPa.
const GIVING: f64 = 3.4e5;
/// What a place lets out that is open to the surrounding air, m³/s for each Pa².
pub(super) const HOLE: f64 = 1.0 / GIVING;
/// Least droop of a regulator, Pa·s/m³.
const LEAST_DROOP: f64 = 10.0;
/// Leakage of a closed valve, m³/s for each Pa² across it.
const SEEPAGE: f64 = 1e-29;
/// What a supply or a regulator lets out above its own pressure, m³/s for each Pa²: out of the network, so that it pushes no
/// other device. It is more than what seeps through valves, so that a place shut off between the two has the pressure
/// that the supply or regulator holds.
const RELIEF: f64 = 1e-22;
/// Below this pressure the root of P is replaced by its tangent, Pa.
const ROOT_ENDS: f64 = 1_000.0;

/// How far the devices are from being ideal. Between a valve that is open and one that is shut lie fifteen orders of magnitude,
/// and Newton's steps can jump from one to the other and back without end; a device that is soft has less to choose between.
#[derive(Clone, Copy, Debug)]
pub(super) struct Softness {
    /// Least that anything open puts in the way, Pa²·s/m³.
    pub open: f64,
    /// Least leakage of anything closed, m³/s for each Pa².
    pub shut: f64,
}

impl Softness {
    /// As the devices are.
    pub const NONE: Self = Self { open: 0.0, shut: 0.0 };

    fn give(self) -> f64 {
        1.0 / GIVING.max(self.open)
    }

    fn fitting(self) -> f64 {
        1.0 / FITTING.max(self.open)
    }

    pub fn seepage(self) -> f64 {
        SEEPAGE.max(self.shut)
    }

    fn relief(self) -> f64 {
        RELIEF.max(self.shut)
    }
}

/// A flow and its slopes by the squared pressure before and behind it. The slope behind is returned with its sign turned, so
/// that neither is negative.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Through {
    pub flow: f64,
    pub before: f64,
    pub behind: f64,
}

impl Through {
    pub fn even(conductance: f64, from: f64, to: f64) -> Self {
        Self {
            flow: conductance * (from - to),
            before: conductance,
            behind: conductance,
        }
    }
}

/// A tube or section: round bores know friction, cables do not.
#[derive(Clone, Copy, Debug)]
pub(super) struct LineLaw {
    /// k at 101 325 Pa and the temperature of the air in it.
    pub resistance: PneumaticResistance,
    pub length: f64,
    /// Pa²·s/m³ in laminar flow.
    pub squares: f64,
    pub usage: f64,
    pub bore: Option<Bore>,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Bore {
    /// Re for each m³/s.
    pub reynolds: f64,
    pub relative_roughness: f64,
}

impl LineLaw {
    pub fn tube(tube: &Tube, conditions: &Conditions) -> Self {
        let resistance = tube_resistance(tube.bore, conditions.temperature);
        Self {
            resistance,
            length: tube.length.metres(),
            squares: squares_per_flow(resistance, tube.length).max(GIVING),
            usage: tube.usage.cubic_metres_per_second(),
            bore: Some(Bore {
                reynolds: reynolds_per_flow(tube.bore, conditions.temperature),
                relative_roughness: tube.roughness.metres() / tube.bore.metres(),
            }),
        }
    }

    pub fn section(section: &Section, conditions: &Conditions) -> Self {
        let temperature = section.temperature.unwrap_or(conditions.temperature);
        let resistance = restate_resistance(section.resistance, section.reference, temperature);
        Self {
            resistance,
            length: section.length.metres(),
            squares: squares_per_flow(resistance, section.length).max(GIVING),
            usage: section.usage.cubic_metres_per_second(),
            bore: None,
        }
    }

    /// Fall of P along the line if this flow went all the way, and its slope. In a round bore P falls by
    /// 16·f·L·ṁ²·R·T/(π²·d⁵), which is the laminar fall times f·Re/64.
    fn fall(&self, flow: f64) -> (f64, f64) {
        let Some(bore) = self.bore else {
            return (self.squares * flow, self.squares);
        };
        let (number, slope) = friction_number_and_slope(flow.abs() * bore.reynolds, bore.relative_roughness);
        let scale = self.squares / (64.0 * bore.reynolds);
        (flow.signum() * scale * number, scale * bore.reynolds * slope)
    }

    /// The highest Reynolds number along it, if it has a round bore.
    pub fn reynolds(&self, flow: f64) -> Option<f64> {
        self.bore.map(|bore| (flow.abs() + self.usage / 2.0) * bore.reynolds)
    }

    fn is_laminar_throughout(&self, flow: f64) -> bool {
        self.reynolds(flow)
            .is_none_or(|highest| highest <= crate::air::LAMINAR_LIMIT)
    }

    /// Fall of P over the part of the line from its start to `part` of its length, when `flow` passes its middle.
    ///
    /// Usage makes the flow fall evenly along the line, from `flow + usage/2` to `flow − usage/2`. In laminar flow the
    /// integral is a parabola; else it is Gauss's rule of three points, in pieces.
    pub fn fall_to(&self, flow: f64, part: f64) -> f64 {
        if self.is_laminar_throughout(flow) {
            return self.squares * part * (flow + self.usage / 2.0 * (1.0 - part));
        }
        if self.usage == 0.0 {
            return self.fall(flow).0 * part;
        }
        self.integral(flow, part, self.pieces(flow)).0
    }

    /// Where the pressure is lowest, as a part of its length, if that is not at an end: where usage turns the flow round.
    pub fn lowest(&self, flow: f64) -> Option<f64> {
        (2.0 * flow.abs() < self.usage).then(|| 0.5 + flow / self.usage)
    }

    /// Number of pieces for the rule of Gauss: more where the flow changes much along the line, and where it comes from one regime into
    /// another. Where it changes by a tenth at most, one piece is within 1e-10 (computed against eight).
    fn pieces(&self, flow: f64) -> u8 {
        let changes_little = self.usage <= 0.1 * flow.abs();
        let is_one_regime = self.bore.is_none_or(|bore| {
            let regime = |flow: f64| Regime::of(flow.abs() * bore.reynolds);
            regime(flow - self.usage / 2.0) == regime(flow + self.usage / 2.0)
        });
        if changes_little && is_one_regime { 1 } else { 8 }
    }

    fn integral(&self, flow: f64, part: f64, pieces: u8) -> (f64, f64) {
        // Points and weights on 0..1, textbook.
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

    /// Flow past the middle of the line and its slope, for a fall of P from end to end.
    fn flow(&self, fall: f64) -> (f64, f64) {
        let laminar = fall / self.squares;
        if self.is_laminar_throughout(laminar) {
            return (laminar, 1.0 / self.squares);
        }
        let Some(bore) = self.bore else {
            return (laminar, 1.0 / self.squares);
        };
        let scale = self.squares / (64.0 * bore.reynolds);
        let (reynolds, slope) = reynolds_of_number(fall.abs() / scale, bore.relative_roughness);
        let flow = reynolds.copysign(fall) / bore.reynolds;
        let slope = slope / (scale * bore.reynolds);
        if self.usage == 0.0 {
            return (flow, slope);
        }
        self.flow_with_usage(fall, flow)
    }

    /// The same where usage keeps the law from being turned round: Newton on the integral, kept between bounds.
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
            // Before the bounds are looked at: the root itself has become one of them.
            if step.abs() <= 1e-14 * reach {
                break;
            }
            let next = flow - step;
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
    /// Conductance when wide open.
    open: f64,
}

impl RegulatorLaw {
    fn new(regulator: &Regulator, conditions: &Conditions) -> Self {
        let set = (conditions.ambient + regulator.set).pascals();
        let differential = regulator.differential.pascals();
        let supply = set + differential;
        let loss = match regulator.rated {
            Some(rated) => (supply * supply - set * set) / rated.cubic_metres_per_second(),
            None => FITTING,
        };
        Self {
            set,
            differential,
            droop: regulator.droop.pascal_seconds_per_m3().max(LEAST_DROOP),
            open: 1.0 / loss.max(FITTING),
        }
    }

    /// What the droop line would pass into this pressure, and what the wide-open valve would.
    fn both(&self, from: f64, to: f64, soft: Softness) -> (Through, Through) {
        let droop = self.droop.max(soft.open / (2.0 * self.set));
        let outlet = root(to);
        let line = if to <= self.set * self.set {
            Through {
                flow: (self.set - outlet.0) / droop,
                before: 0.0,
                behind: outlet.1 / droop,
            }
        } else {
            Through::default()
        };
        let open = one_way((1.0 / self.open).max(soft.open).recip(), from, to, soft);
        (line, open)
    }

    fn through(&self, from: f64, to: f64, soft: Softness) -> Through {
        let (line, open) = self.both(from, to, soft);
        if line.flow <= open.flow { line } else { open }
    }

    /// True if it is wide open: the supply, not the droop line, sets what passes.
    pub fn is_wide_open(&self, from: f64, to: f64) -> bool {
        let (line, open) = self.both(from, to, Softness::NONE);
        open.flow < line.flow
    }
}

fn one_way(conductance: f64, from: f64, to: f64, soft: Softness) -> Through {
    Through::even(if from >= to { conductance } else { soft.seepage() }, from, to)
}

/// √P and its slope, carried on below [`ROOT_ENDS`] by a tangent, so that a step too far is still a number.
pub(super) fn root(squared: f64) -> (f64, f64) {
    const LEAST: f64 = ROOT_ENDS * ROOT_ENDS;
    if squared >= LEAST {
        let root = squared.sqrt();
        (root, 0.5 / root)
    } else {
        (ROOT_ENDS + (squared - LEAST) * 0.5 / ROOT_ENDS, 0.5 / ROOT_ENDS)
    }
}

/// What passes between two nodes.
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
    pub fn new(joined: &Joined, conditions: &Conditions) -> Self {
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
            (Link::Regulator(regulator), _) => Law::Regulator(RegulatorLaw::new(regulator, conditions)),
            (Link::CheckValve, _) => Law::CheckValve,
            (Link::Restriction { loss, one_way }, _) => {
                Law::Loss(LossLaw::new(loss, *one_way, conditions.ambient.pascals()))
            }
            (Link::Fitting, _) => Law::Fitting,
        }
    }

    pub fn through(&self, from: f64, to: f64, soft: Softness) -> Through {
        match self {
            Law::Line(line) => {
                let (flow, slope) = line.flow(from - to);
                Through {
                    flow,
                    before: slope,
                    behind: slope,
                }
            }
            Law::Leaking(line) => Through::even(line.through, from, to),
            Law::Regulator(valve) => valve.through(from, to, soft),
            Law::CheckValve => one_way(soft.fitting(), from, to, soft),
            Law::Loss(loss) => loss.through(from, to, soft),
            Law::Fitting => Through::even(soft.fitting(), from, to),
        }
    }

    /// What a line puts in the way in laminar flow, Pa²·s/m³.
    pub fn line_resistance(&self) -> Option<f64> {
        match self {
            Law::Line(line) => Some(line.squares),
            Law::Leaking(leaking) => Some(leaking.line.squares),
            Law::Regulator(_) | Law::CheckValve | Law::Loss(_) | Law::Fitting => None,
        }
    }

    /// How far a distance from the start of a line is along it, as a part of its length. None beyond its ends, and for what is no line.
    pub fn part(&self, from_start: Length) -> Option<f64> {
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
        (0.0..=1.0).contains(&part).then_some(part)
    }

    /// Air lost along it whatever the pressure.
    pub fn usage(&self) -> f64 {
        match self {
            Law::Line(line) => line.usage,
            Law::Leaking(_) | Law::Regulator(_) | Law::CheckValve | Law::Loss(_) | Law::Fitting => 0.0,
        }
    }

    /// True if air can pass against the arrow.
    pub fn both_ways(&self) -> bool {
        match self {
            Law::Line(_) | Law::Leaking(_) | Law::Fitting => true,
            Law::Loss(loss) => !loss.one_way,
            Law::Regulator(_) | Law::CheckValve => false,
        }
    }
}

/// A flow out of the network at a node, and its slope by the squared pressure there.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Outflow {
    pub flow: f64,
    pub slope: f64,
}

impl Outflow {
    fn even(conductance: f64, inside: f64, outside: f64) -> Self {
        Self {
            flow: conductance * (inside - outside),
            slope: conductance,
        }
    }
}

/// What passes between a node and the outside.
#[derive(Clone, Copy, Debug)]
pub(super) enum Boundary {
    Supply {
        squared: f64,
        /// The most that it gives, m³/s.
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
    /// What a line loses beyond its usage, at one of its ends.
    Following(Following),
    /// Air that fills a volume over a step of time.
    Stored(Stored),
}

/// What a volume takes in over a step of time: (content(p) − before)·rate.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stored {
    /// Air in the volume for each Pa, counted as flows are: m³.
    pub capacity: f64,
    /// What was in it before, m³.
    pub before: f64,
    /// One over the length of the step, 1/s.
    pub rate: f64,
}

impl Boundary {
    /// A supply that gives whatever it is asked for.
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

    /// What a line loses at its start and at its end as the pressure there has it, beyond the usage that is the same at any pressure.
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
                    / (2.0 * Standard::BASE.pressure().pascals() * resistance.pascal_seconds_per_m3()).max(FITTING),
            },
            Leak::Orifice { hole, coefficient } => Boundary::Nozzle {
                outside,
                scale: nozzle_scale(*hole, *coefficient, conditions.temperature),
            },
        }
    }

    /// True if air can come from it.
    pub fn gives(&self) -> bool {
        matches!(self, Boundary::Supply { .. } | Boundary::Held { .. })
    }

    /// What flows out of the node at this squared pressure.
    pub fn out(&self, at: f64, soft: Softness) -> Outflow {
        match *self {
            Boundary::Supply { squared, most } => {
                // How far below its pressure it gives all that it can. From there on what seeps keeps the slope above nothing.
                let reach = most / soft.give();
                // The search starts at the pressure itself, and needs the slope of what gives there.
                if at > squared {
                    Outflow::even(soft.relief(), at, squared)
                } else if squared - at <= reach {
                    Outflow::even(soft.give(), at, squared)
                } else {
                    let beyond = Outflow::even(soft.relief(), at, squared - reach);
                    Outflow {
                        flow: beyond.flow - most,
                        ..beyond
                    }
                }
            }
            Boundary::Relief { squared } => {
                let conductance = if at > squared { soft.relief() } else { 0.0 };
                Outflow::even(conductance, at, squared)
            }
            Boundary::Held { squared } => Outflow::even(soft.give(), at, squared),
            Boundary::Laminar { outside, conductance } => Outflow::even(conductance, at, outside),
            Boundary::Following(Following { normal, conductance }) => Outflow::even(conductance, at, normal),
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

/// The pressure whose square this is.
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
