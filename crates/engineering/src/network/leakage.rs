//! Leakage that follows pressure: what lines lose in states other than the normal one.
//!
//! The usage of a line is what it loses in the normal state. Air seeps out through many narrow ways, in laminar flow: at each place
//! it is in proportion to p² − pₐ², with pₐ the pressure of the surrounding air. So each place keeps a conductance of its own,
//! q₀′(x)/(p₀(x)² − pₐ²) with q₀′ and p₀ the loss for each length and the pressure in the normal state, and loses that times
//! p² − pₐ² in any other. In the normal state that is the usage, to the last digit.
//!
//! With u = p² − pₐ² and y the same in the normal state, both along the line as a part of its length, the flow is −u′/S with S the
//! fall of the squared pressure for each flow. The balance of a short piece gives u″ = (y″/y)·u, times the factors by which usage
//! and resistance have changed. In laminar flow y is a parabola. The equation is linear and its own adjoint, so that the line is to
//! its ends what three conductances are: one from end to end, and one from either end to the surrounding air.
//!
//! It holds where the flow in the line is laminar. In a pipe of round bore, where it need not be, half of what is lost follows the
//! pressure at either end: divide a long one.
//!
//! Source: the balance of a short piece of line, and Hagen and Poiseuille's law for a gas in a narrow way, by which the flow goes with
//! the difference of the squared pressures (textbook, from memory).

use super::laws::LineLaw;
use super::solution::Solution;
use super::{Link, LinkId, Network};
use crate::measure::Flow;

/// Least p² − pₐ² in the normal state from which a conductance is told, as a part of pₐ²: a fiftieth of a millibar.
const LEAST: f64 = 4e-5;
/// Terms of a series after which what is left is below rounding: each is at most half of the one before, nearly.
const TERMS: u32 = 120;

/// What a line loses in other states, as its normal state tells: a conductance for each place along it.
#[derive(Clone, Copy, Debug)]
pub struct Leakage {
    /// The line in the normal state.
    normal: LineLaw,
    /// Squared pressure at its start in the normal state, Pa².
    start: f64,
    /// Flow past its middle in the normal state, m³/s.
    flow: f64,
    /// Squared pressure of the surrounding air, Pa².
    outside: f64,
    /// What it would lose now at its normal pressure, m³/s.
    lost: f64,
    /// By how much its resistance has changed.
    resistance: f64,
}

impl Leakage {
    /// None where the normal pressure is somewhere too near that of the surrounding air.
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

    /// That of the piece between two parts of its length.
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

    /// The same where the line would lose `usage` at its normal pressure, and has so many times its resistance. A bore is what it is:
    /// of a tube only the usage changes.
    #[must_use]
    pub fn changed(&self, usage: Flow, resistance: f64) -> Self {
        Self {
            lost: usage.cubic_metres_per_second(),
            resistance: self.resistance * resistance,
            ..*self
        }
    }

    /// What it would lose at its normal pressure.
    pub fn usage(&self) -> Flow {
        Flow::from_cubic_metres_per_second(self.lost)
    }

    /// Squared pressures at its ends in the normal state, Pa².
    fn ends(&self) -> (f64, f64) {
        (self.start, self.start - self.normal.fall_to(self.flow, 1.0))
    }

    /// What follows the pressure at the ends of a line of round bore: half of its usage at either.
    pub(super) fn at_ends(&self) -> (Following, Following) {
        let (start, end) = self.ends();
        let following = |normal: f64| Following {
            normal,
            conductance: self.lost / 2.0 / (normal - self.outside),
        };
        (following(start), following(end))
    }
}

/// A loss that is known at one pressure and follows it: what is lost beyond that is the conductance times the difference.
#[derive(Clone, Copy, Debug)]
pub(super) struct Following {
    /// Squared pressure in the normal state, Pa².
    pub normal: f64,
    /// m³/s for each Pa².
    pub conductance: f64,
}

impl Following {
    /// What is lost beyond what is known, at this squared pressure, m³/s.
    pub fn flow(&self, squared: f64) -> f64 {
        self.conductance * (squared - self.normal)
    }
}

/// A laminar line whose loss follows its pressure.
#[derive(Clone, Copy, Debug)]
pub(super) struct LeakingLaw {
    /// As it is now: with its usage in the normal state.
    pub line: LineLaw,
    pub outside: f64,
    /// p² − pₐ² in the normal state, along the line.
    normal: Parabola,
    /// u″ is this times u/y, Pa².
    pull: f64,
    /// Conductance from end to end, and from either end to the surrounding air, m³/s for each Pa².
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
        // The normal fall is squares·part·(flow + usage/2·(1 − part)), see `LineLaw::fall_to`.
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
            through: 0.0,
            at_start: 0.0,
            at_end: 0.0,
        };
        let whole = law.transfer(1.0);
        law.through = 1.0 / (squares * whole.span);
        law.at_start = whole.over * law.through;
        law.at_end = whole.more * law.through;
        law
    }

    /// Squared pressure and flow at a part of the length, from those at the ends: Pa² and m³/s.
    pub fn at(&self, start: f64, end: f64, part: f64) -> (f64, f64) {
        let (start, end) = (start - self.outside, end - self.outside);
        let (whole, here) = (self.transfer(1.0), self.transfer(part));
        let slope = (end - start * (1.0 + whole.over)) / whole.span;
        let squared = start * (1.0 + here.over) + slope * here.span;
        let flow = -(start * here.rise + slope * (1.0 + here.more)) / self.line.squares;
        (self.outside + squared, flow)
    }

    /// Where the pressure is lowest, as a part of the length: where the flow turns round, if it does.
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

    /// Distance of the nearer root, real or complex: within it a series in x holds.
    fn nearest_root(self) -> f64 {
        let discriminant = self.slope * self.slope - 4.0 * self.height * self.bend;
        if discriminant < 0.0 {
            return (self.height / self.bend).sqrt();
        }
        // The form without a difference of like figures; the other root is farther.
        2.0 * self.height / (self.slope.abs() + discriminant.sqrt())
    }
}

/// The two solutions of u″ = pull·u/y from which all others are made, at one place: the first starts at 1 and level, the second at
/// nothing and with a slope of 1. What they differ by from 1, which may be very little, is carried without it.
#[derive(Clone, Copy, Debug, Default)]
struct Transfer {
    /// The first less 1, and its slope.
    over: f64,
    rise: f64,
    /// The second, and its slope less 1.
    span: f64,
    more: f64,
}

impl Transfer {
    /// The solutions a step farther on, by their series.
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

/// What the terms from the second power on add to a solution and to its slope, over a step of 1, from its value and slope.
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
    /// Makes a tube or section lose what its leakage lets out at each pressure, in place of its usage; without one it loses nothing.
    /// The leakage is that of a line of the same length and resistance: of this link in a normal state, as
    /// [`Solution::leakage`] has it, or of a piece of it.
    ///
    /// # Panics
    ///
    /// If the link is of another network.
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
    /// What a line lets out at any pressure, where this is its normal state. None for what is no line, where no air reaches it, where
    /// it is shut off from every source, and where its pressure is not above that of the surrounding air.
    ///
    /// # Panics
    ///
    /// If the link is of another network.
    pub fn leakage(&self, link: LinkId) -> Option<Leakage> {
        let (normal, start, flow) = self.line(link)?;
        let outside = self.conditions().ambient.pascals();
        Leakage::new(*normal, start, flow, outside * outside)
    }
}
