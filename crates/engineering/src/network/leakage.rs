//! Pressure-dependent leakage of lines in states other than the normal one.
//!
//! The usage of a line is its loss in the normal state. Air escapes through many narrow paths in laminar flow: at each
//! place the loss is proportional to p² − pₐ², with pₐ the ambient pressure. So each place has a fixed conductance
//! q₀′(x)/(p₀(x)² − pₐ²), with q₀′ and p₀ the loss per length and the pressure in the normal state, and loses that
//! times p² − pₐ² in any other state. In the normal state that is exactly the usage.
//!
//! With u = p² − pₐ² and y the same in the normal state, both as functions of the fraction of the length, the flow is
//! −u′/S with S the decrease of the squared pressure per flow. The balance of a short piece gives u″ = (y″/y)·u, times
//! the factors by which usage and resistance have changed. In laminar flow y is a parabola. The equation is linear and
//! self-adjoint, so the line is equivalent to three conductances: one from end to end, and one from either end to the
//! surrounding air.
//!
//! This holds for laminar flow in the line. In a pipe of round bore, where the flow may be turbulent, half of the loss
//! depends on the pressure at either end: divide long pipes.
//!
//! Source: the balance of a short piece of line, and Hagen and Poiseuille's law for a gas in a narrow way, by which the
//! flow is proportional to the difference of the squared pressures (textbook, from memory).

use super::laws::LineLaw;
use super::solution::Solution;
use super::{Link, LinkId, Network};
use crate::measure::Flow;

/// Least p² − pₐ² in the normal state for which a conductance is defined, as a fraction of pₐ²: a fiftieth of a
/// millibar.
const LEAST: f64 = 4e-5;
/// Terms of a series; the rest is below rounding, since each term is at most about half of the previous one.
const TERMS: u32 = 120;

/// The loss of a line in other states, derived from its normal state: a conductance for each place along it.
#[derive(Clone, Copy, Debug)]
pub struct Leakage {
    /// The law of the line in the normal state.
    normal: LineLaw,
    /// Squared pressure at its start in the normal state, Pa².
    start: f64,
    /// Flow past its middle in the normal state, m³/s.
    flow: f64,
    /// Squared ambient pressure, Pa².
    outside: f64,
    /// Loss at the normal pressure after a change of usage, m³/s.
    lost: f64,
    /// Factor by which its resistance has changed.
    resistance: f64,
}

impl Leakage {
    /// `None` if the normal pressure is too close to ambient somewhere.
    fn new(normal: LineLaw, start: f64, flow: f64, outside: f64) -> Option<Self> {
        let end = start - normal.fall_to(flow, 1.0);
        let inside = normal.lowest(flow).map(|part| start - normal.fall_to(flow, part));
        let lowest = inside.unwrap_or(start).min(start).min(end);
        (lowest - outside >= LEAST * outside).then_some(Self {
            normal,
            start,
            flow,
            outside,
            lost: normal.usage,
            resistance: 1.0,
        })
    }

    /// The leakage of the piece between two fractions of the length.
    #[must_use]
    pub fn piece(&self, from: f64, to: f64) -> Self {
        let part = to - from;
        Self {
            normal: LineLaw {
                length: self.normal.length * part,
                squares: self.normal.squares * part,
                usage: self.normal.usage * part,
                ..self.normal
            },
            start: self.start - self.normal.fall_to(self.flow, from),
            // The flow past the middle of the piece.
            flow: self.flow + self.normal.usage * (0.5 - f64::midpoint(from, to)),
            lost: self.lost * part,
            ..*self
        }
    }

    /// The leakage with another `usage` at the normal pressure, and with the resistance multiplied by a factor. Bores
    /// do not change: for a tube only the usage applies.
    #[must_use]
    pub fn changed(&self, usage: Flow, resistance: f64) -> Self {
        Self {
            lost: usage.cubic_metres_per_second(),
            resistance: self.resistance * resistance,
            ..*self
        }
    }

    /// Loss at the normal pressure.
    pub fn usage(&self) -> Flow {
        Flow::from_cubic_metres_per_second(self.lost)
    }

    /// Squared pressures at its ends in the normal state, Pa².
    fn ends(&self) -> (f64, f64) {
        (self.start, self.start - self.normal.fall_to(self.flow, 1.0))
    }

    /// Pressure-dependent losses at the ends of a line of round bore: half of its usage at either.
    pub(super) fn at_ends(&self) -> (Following, Following) {
        let (start, end) = self.ends();
        let following = |normal: f64| Following {
            normal,
            conductance: self.lost / 2.0 / (normal - self.outside),
        };
        (following(start), following(end))
    }
}

/// A loss that is known at one pressure: the difference from that is the conductance times the difference of squared
/// pressures.
#[derive(Clone, Copy, Debug)]
pub(super) struct Following {
    /// Squared pressure in the normal state, Pa².
    pub normal: f64,
    /// Conductance, m³/s per Pa².
    pub conductance: f64,
}

impl Following {
    /// Difference from the known loss at this squared pressure, m³/s.
    pub fn flow(&self, squared: f64) -> f64 {
        self.conductance * (squared - self.normal)
    }
}

/// A laminar line with pressure-dependent loss.
#[derive(Clone, Copy, Debug)]
pub(super) struct LeakingLaw {
    /// The present law, with the usage of the normal state.
    pub line: LineLaw,
    pub outside: f64,
    /// p² − pₐ² in the normal state, along the line.
    normal: Parabola,
    /// Coefficient of u/y in u″, Pa².
    pull: f64,
    /// The fundamental solutions at the end.
    whole: Transfer,
    /// Conductances from end to end, and from either end to the surrounding air, m³/s per Pa².
    pub through: f64,
    pub at_start: f64,
    pub at_end: f64,
}

impl LeakingLaw {
    pub fn new(leakage: &Leakage) -> Self {
        let Leakage {
            normal: line,
            start,
            flow,
            outside,
            lost,
            resistance,
        } = *leakage;
        let squares = line.squares * resistance;
        // The normal decrease is squares·part·(flow + usage/2·(1 − part)), see `LineLaw::fall_to`.
        let normal = Parabola {
            height: start - outside,
            slope: -line.squares * (flow + line.usage / 2.0),
            bend: line.squares * line.usage / 2.0,
        };
        let mut law = Self {
            line: LineLaw { squares, ..line },
            outside,
            normal,
            pull: squares * lost,
            whole: Transfer::default(),
            through: 0.0,
            at_start: 0.0,
            at_end: 0.0,
        };
        let whole = law.transfer(1.0);
        law.whole = whole;
        law.through = 1.0 / (squares * whole.span);
        law.at_start = whole.over * law.through;
        law.at_end = whole.more * law.through;
        law
    }

    /// Squared pressure in Pa² and flow in m³/s at a fraction of the length, from the squared pressures at the ends.
    pub fn at(&self, start: f64, end: f64, part: f64) -> (f64, f64) {
        let (start, end) = (start - self.outside, end - self.outside);
        let (whole, here) = (self.whole, self.transfer(part));
        let slope = (end - start * (1.0 + whole.over)) / whole.span;
        let squared = start * (1.0 + here.over) + slope * here.span;
        let flow = -(start * here.rise + slope * (1.0 + here.more)) / self.line.squares;
        (self.outside + squared, flow)
    }

    /// Position of the lowest pressure as a fraction of the length: where the flow reverses. `None` if it does not.
    pub fn lowest(&self, start: f64, end: f64) -> Option<f64> {
        let flow = |part: f64| self.at(start, end, part).1;
        if flow(0.0) <= 0.0 || flow(1.0) >= 0.0 {
            return None;
        }
        let (mut near, mut far) = (0.0, 1.0);
        for _ in 0..40 {
            let middle = f64::midpoint(near, far);
            if flow(middle) > 0.0 {
                near = middle;
            } else {
                far = middle;
            }
        }
        Some(f64::midpoint(near, far))
    }

    fn transfer(&self, part: f64) -> Transfer {
        let mut found = Transfer::default();
        if self.pull <= 0.0 {
            return Transfer { span: part, ..found };
        }
        let mut at = 0.0;
        while at < part {
            let here = self.normal.seen_from(at);
            let left = part - at;
            let step = (0.5 * here.nearest_root()).min(left);
            found = found.carried_on(&here, self.pull, step);
            at = if step < left { at + step } else { part };
        }
        found
    }
}

/// A parabola: height + slope·x + bend·x².
#[derive(Clone, Copy, Debug)]
struct Parabola {
    height: f64,
    slope: f64,
    bend: f64,
}

impl Parabola {
    fn seen_from(self, place: f64) -> Self {
        Self {
            height: self.height + place * (self.slope + place * self.bend),
            slope: self.slope + 2.0 * place * self.bend,
            bend: self.bend,
        }
    }

    /// Distance of the nearer root, real or complex: the radius of convergence of a series in x.
    fn nearest_root(self) -> f64 {
        let discriminant = self.slope * self.slope - 4.0 * self.height * self.bend;
        if discriminant < 0.0 {
            return (self.height / self.bend).sqrt();
        }
        // This form avoids the difference of nearly equal figures; the other root is farther.
        2.0 * self.height / (self.slope.abs() + discriminant.sqrt())
    }
}

/// The two fundamental solutions of u″ = pull·u/y at one position: the first starts with value 1 and slope 0, the
/// second with value 0 and slope 1. Their small differences from these are stored separately, to keep precision.
#[derive(Clone, Copy, Debug, Default)]
struct Transfer {
    /// The first solution minus 1, and its slope.
    over: f64,
    rise: f64,
    /// The second solution, and its slope minus 1.
    span: f64,
    more: f64,
}

impl Transfer {
    /// Advances the solutions by a step, using their series.
    fn carried_on(self, normal: &Parabola, pull: f64, step: f64) -> Self {
        let (over, rise) = series(1.0 + self.over, self.rise * step, normal, pull, step);
        let (span, more) = series(self.span, (1.0 + self.more) * step, normal, pull, step);
        Self {
            over: self.over + self.rise * step + over,
            rise: self.rise + rise / step,
            span: self.span + (1.0 + self.more) * step + span,
            more: self.more + more / step,
        }
    }
}

/// The terms from the second power on of a solution and its slope over a step of 1, from its value and slope.
fn series(value: f64, slope: f64, normal: &Parabola, pull: f64, step: f64) -> (f64, f64) {
    let (mut before, mut last) = (value, slope);
    let (mut sum, mut slopes) = (0.0, 0.0);
    let mut n = 0.0;
    for _ in 0..TERMS {
        let next = (pull * step * step * before
            - normal.slope * step * (n + 1.0) * n * last
            - normal.bend * step * step * n * (n - 1.0) * before)
            / (normal.height * (n + 2.0) * (n + 1.0));
        sum += next;
        slopes += (n + 2.0) * next;
        let is_nothing = |term: f64| ((n + 2.0) * term).abs() <= f64::EPSILON / 16.0 * slopes.abs();
        if n > 1.0 && is_nothing(next) && is_nothing(last) {
            break;
        }
        (before, last) = (last, next);
        n += 1.0;
    }
    (sum, slopes)
}

impl Network {
    /// Replaces the usage of a tube or section by a pressure-dependent leakage; with `None` it loses nothing. The
    /// leakage is that of a line of the same length and resistance: of this link in a normal state, as given by
    /// [`Solution::leakage`], or of a piece of it.
    ///
    /// # Panics
    ///
    /// If the link belongs to another network.
    pub fn follow(&mut self, link: LinkId, leakage: Option<Leakage>) {
        let joined = &mut self.links[link];
        match &mut joined.link {
            Link::Tube(tube) if leakage.is_none() => tube.usage = tube.usage * 0.0,
            Link::Section(section) if leakage.is_none() => section.usage = section.usage * 0.0,
            Link::Tube(_) | Link::Section(_) => joined.leakage = leakage,
            Link::Regulator(_) | Link::CheckValve | Link::Restriction { .. } | Link::Fitting => {}
        }
    }
}

impl Solution {
    /// The pressure-dependent leakage of a line, with this solution as its normal state. `None` for other links, and
    /// for lines that no air reaches, that are shut off from every source, or whose pressure is not above ambient.
    ///
    /// # Panics
    ///
    /// If the link belongs to another network.
    pub fn leakage(&self, link: LinkId) -> Option<Leakage> {
        let (normal, start, flow) = self.line(link)?;
        let outside = self.conditions().ambient.pascals();
        Leakage::new(*normal, start, flow, outside * outside)
    }
}
