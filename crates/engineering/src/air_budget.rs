//! Demand on a dryer and its capacity.

use crate::measure::Flow;

/// Relative tolerance for equal flows, to allow for conversion of units.
const SAME: f64 = 1e-9;

/// The usage of a dryer's office and the dryer's capacity. Both are true flows: a capacity stated at other conditions
/// has to be converted with [`crate::standard::StandardConditions::flow`] first, and it holds at the maker's altitude.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirBudget {
    /// Total usage, see [`demand`].
    pub demand: Flow,
    /// Flow of dry air that the dryer can deliver continuously.
    pub capacity: Flow,
    /// Required margin of the capacity over the demand, as a fraction of the demand: 0.25 is usual \[common practice\].
    pub margin: f64,
}

/// Sum of flows, in the given order \[derived\].
pub fn demand(flows: impl IntoIterator<Item = Flow>) -> Flow {
    let sum = flows.into_iter().map(Flow::cubic_metres_per_second).sum();
    Flow::from_cubic_metres_per_second(sum)
}

impl AirBudget {
    /// Required capacity: Σ usage × (1 + margin) \[common practice\].
    pub fn needed(self) -> Flow {
        self.demand * (1.0 + self.margin)
    }

    /// Whether the capacity is sufficient. A capacity equal to the demand is sufficient in any unit. False if a figure
    /// is NaN.
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
