//! Pressure loss at a filter, a sensor or a valve.

use super::laws::{FlowAndSlopes, Relaxation, root};
use crate::measure::{Flow, Pressure};

/// Pressure loss as a function of flow: zero at zero flow, and as stated at one or two flows.
///
/// With one point the loss is proportional to the flow. Two points give a·Q + b·Q², a viscous and an inertial part
/// (Forchheimer's law, from memory), if neither is negative. If the loss grows less than proportionally or faster than
/// the square, as it may at a check valve with a spring, straight lines join zero and the two points. Both forms are
/// extrapolated beyond the last point. The loss does not depend on the pressure, since makers do not state any
/// dependence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loss {
    /// A flow, and the pressure lost at it.
    pub first: (Flow, Pressure),
    /// A larger flow, and the larger loss at it.
    pub second: Option<(Flow, Pressure)>,
}

impl Loss {
    /// The loss at a flow; odd in the flow.
    pub fn at(&self, flow: Flow) -> Pressure {
        let figure = flow.cubic_metres_per_second();
        Pressure::from_pascals(Curve::of(self).fall(figure.abs()).copysign(figure))
    }

    /// The reason why its points are invalid.
    pub(super) fn objection(&self) -> Option<&'static str> {
        let positive = |figure: f64| figure.is_finite() && figure > 0.0;
        let (flow, pressure) = figures(self.first);
        let rises = self
            .second
            .map(figures)
            .is_none_or(|(more, higher)| more.is_finite() && more > flow && higher.is_finite() && higher > pressure);
        if !(positive(flow) && positive(pressure)) {
            Some("a loss or its flow is not above zero")
        } else if rises {
            None
        } else {
            Some("a loss does not rise with its flow")
        }
    }
}

fn figures((flow, pressure): (Flow, Pressure)) -> (f64, f64) {
    (flow.cubic_metres_per_second(), pressure.pascals())
}

/// Loss as a function of flow, Pa and m³/s.
#[derive(Clone, Copy, Debug)]
enum Curve {
    /// a·Q + b·Q²; b is zero where one point is stated.
    Sum { linear: f64, square: f64 },
    /// Two straight lines: one slope up to a flow, another beyond it.
    Lines { slope: f64, up_to: f64, then: f64 },
}

impl Curve {
    fn of(loss: &Loss) -> Self {
        let (flow, pressure) = figures(loss.first);
        let slope = pressure / flow;
        let Some((more, higher)) = loss.second.map(figures) else {
            return Self::Sum {
                linear: slope,
                square: 0.0,
            };
        };
        let square = (higher / more - slope) / (more - flow);
        let linear = slope - square * flow;
        if square >= 0.0 && linear >= 0.0 {
            return Self::Sum { linear, square };
        }
        Self::Lines {
            slope,
            up_to: flow,
            then: (higher - pressure) / (more - flow),
        }
    }

    /// The loss at a non-negative flow.
    fn fall(&self, flow: f64) -> f64 {
        match *self {
            Self::Sum { linear, square } => flow * (linear + square * flow),
            Self::Lines { slope, up_to, then } => slope * flow.min(up_to) + then * (flow - up_to).max(0.0),
        }
    }

    /// The flow at a non-negative loss, and its derivative, with a resistance of at least `least` Pa·s/m³.
    fn flow(&self, fall: f64, least: f64) -> (f64, f64) {
        match *self {
            Self::Sum { linear, square } => {
                let linear = linear.max(least);
                let root = (linear * linear + 4.0 * square * fall).sqrt();
                (2.0 * fall / (linear + root), root.recip())
            }
            Self::Lines { slope, up_to, then } => {
                let (slope, then) = (slope.max(least), then.max(least));
                let knee = slope * up_to;
                if fall <= knee {
                    (fall / slope, slope.recip())
                } else {
                    (up_to + (fall - knee) / then, then.recip())
                }
            }
        }
    }
}

/// A loss in a network.
#[derive(Clone, Copy, Debug)]
pub(super) struct LossLaw {
    curve: Curve,
    pub one_way: bool,
    /// Pressure of the surrounding air, Pa absolute.
    ambient: f64,
}

/// Least resistance, Pa·s/m³.
const LEAST: f64 = 10.0;

impl LossLaw {
    pub fn new(loss: &Loss, one_way: bool, ambient: f64) -> Self {
        Self {
            curve: Curve::of(loss),
            one_way,
            ambient,
        }
    }

    /// The flow. It increases with the pressure before it and decreases with the pressure behind, as all laws do.
    pub fn through(&self, from: f64, to: f64, relaxation: Relaxation) -> FlowAndSlopes {
        if self.one_way && from < to {
            return FlowAndSlopes::linear(relaxation.closed_conductance(), from, to);
        }
        let (before, behind) = (root(from), root(to));
        let fall = before.0 - behind.0;
        let least = LEAST.max(relaxation.open / (2.0 * self.ambient));
        let (flow, slope) = self.curve.flow(fall.abs(), least);
        FlowAndSlopes {
            flow: flow.copysign(fall),
            before: slope * before.1,
            behind: slope * behind.1,
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::units::find;

    fn point(psi: f64, scfh: f64) -> (Flow, Pressure) {
        (
            Flow::from_cubic_metres_per_second(find("scfh").unwrap().to_si(scfh)),
            Pressure::from_pascals(find("psi").unwrap().to_si(psi)),
        )
    }

    fn psi_at(loss: &Loss, scfh: f64) -> f64 {
        find("psi").unwrap().from_si(loss.at(point(1.0, scfh).0).pascals())
    }

    #[track_caller]
    fn is(loss: &Loss, points: &[(f64, f64)]) {
        for (scfh, psi) in points {
            let found = psi_at(loss, *scfh);
            assert!((found - psi).abs() < 1e-9, "{found} psi at {scfh} scfh");
        }
    }

    #[test]
    fn one_point_is_in_proportion() {
        let first = point(0.5, 20.0);
        is(
            &Loss { first, second: None },
            &[(0.0, 0.0), (10.0, 0.25), (40.0, 1.0), (-20.0, -0.5)],
        );
    }

    #[test]
    fn two_points_give_the_curve() {
        // By hand: 0.02 Q + 0.0005 Q².
        let loss = |first, second| Loss {
            first,
            second: Some(second),
        };
        is(
            &loss(point(0.25, 10.0), point(0.6, 20.0)),
            &[(10.0, 0.25), (20.0, 0.6), (40.0, 1.6), (-10.0, -0.25)],
        );
        // A spring: 1 psi at 5 scfh, 1.2 psi at 20 scfh.
        is(
            &loss(point(1.0, 5.0), point(1.2, 20.0)),
            &[(2.5, 0.5), (5.0, 1.0), (20.0, 1.2), (35.0, 1.4)],
        );
        // Faster than the square.
        is(
            &loss(point(0.1, 10.0), point(0.9, 20.0)),
            &[(5.0, 0.05), (15.0, 0.5), (20.0, 0.9)],
        );
    }

    #[test]
    fn the_flow_is_that_of_the_loss() {
        for loss in [
            Loss {
                first: point(0.5, 20.0),
                second: None,
            },
            Loss {
                first: point(0.25, 10.0),
                second: Some(point(0.6, 20.0)),
            },
            Loss {
                first: point(1.0, 5.0),
                second: Some(point(1.2, 20.0)),
            },
        ] {
            let law = LossLaw::new(&loss, false, 101_325.0);
            for scfh in [0.0, 0.3, 7.0, 19.0, 60.0] {
                let flow = point(1.0, scfh).0;
                let (before, behind) = (170e3, 170e3 - loss.at(flow).pascals());
                let found = law.through(before * before, behind * behind, Relaxation::NONE);
                let expected = flow.cubic_metres_per_second();
                assert!(
                    (found.flow - expected).abs() < 1e-12 + 1e-9 * expected,
                    "{found:?} at {scfh} scfh"
                );
                assert!(found.before > 0.0 && found.behind > 0.0);
            }
        }
    }

    #[test]
    fn points_that_do_not_rise_are_refused() {
        let loss = |second| Loss {
            first: point(0.5, 20.0),
            second,
        };
        assert_eq!(loss(None).objection(), None);
        assert_eq!(loss(Some(point(0.6, 30.0))).objection(), None);
        for second in [point(0.4, 30.0), point(0.6, 10.0), point(0.6, f64::NAN)] {
            assert!(loss(Some(second)).objection().is_some(), "{second:?}");
        }
        let nothing = Loss {
            first: point(0.0, 20.0),
            second: None,
        };
        assert!(nothing.objection().is_some());
    }
}
