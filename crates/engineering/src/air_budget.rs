//! What a dryer has to deliver and what it can.

use crate::measure::Flow;

/// Flows that differ by less than this part are the same: what converting units leaves.
const SAME: f64 = 1e-9;

/// The air that a dryer's office uses against what the dryer can deliver. Both are true flows: a capacity that its maker
/// states at other conditions goes through [`crate::standard::Standard::flow`] first, and holds for the maker's altitude.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirBudget {
    /// What is used, see [`demand`].
    pub demand: Flow,
    /// What the dryer can deliver dry without end.
    pub capacity: Flow,
    /// What the capacity must leave beyond the demand, as a part of the demand: 0.25 is usual \[common practice\].
    pub margin: f64,
}

/// The sum of the flows that are used, in the order given \[derived\].
pub fn demand(flows: impl IntoIterator<Item = Flow>) -> Flow {
    let sum = flows.into_iter().map(Flow::cubic_metres_per_second).sum();
    Flow::from_cubic_metres_per_second(sum)
}

impl AirBudget {
    /// The capacity that the demand asks for: Σ usage × (1 + margin) \[common practice\].
    pub fn needed(self) -> Flow {
        self.demand * (1.0 + self.margin)
    }

    /// Whether the capacity is enough. A capacity equal to the demand is enough in any unit. Not if one
    /// of the figures is not a number.
    pub fn enough(self) -> bool {
        let needed = self.needed().cubic_metres_per_second();
        needed - needed.abs() * SAME <= self.capacity.cubic_metres_per_second()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::figures::scfh;
    use crate::units::find;

    #[test]
    fn a_dryer_with_three_cables_and_its_pipes() {
        // Worked example BUD-1; the margin is common practice without a source.
        let budget = AirBudget {
            demand: demand([1.8, 1.1, 2.1, 6.0].map(scfh)),
            capacity: scfh(20.0),
            margin: 0.25,
        };
        let written = |flow: Flow, unit| find(unit).unwrap().from_si(flow.cubic_metres_per_second());
        assert!((written(budget.demand, "scfh") - 11.0).abs() < 1e-12);
        assert!((written(budget.demand, "scfd") - 264.0).abs() < 1e-9);
        assert!((written(budget.needed(), "scfh") - 13.75).abs() < 1e-12);
        assert!(budget.enough());
    }

    #[test]
    fn exactly_enough_is_enough() {
        let with = |capacity: Flow| AirBudget {
            demand: scfh(11.0),
            capacity,
            margin: 0.25,
        };
        let scfd = |figure| Flow::from_cubic_metres_per_second(find("scfd").unwrap().to_si(figure));
        assert!(with(scfh(13.75)).enough());
        assert!(with(scfd(330.0)).enough());
        assert!(!with(scfd(329.99)).enough());
        assert!(!with(scfh(f64::NAN)).enough());
    }
}
