//! Regulators out of regulation, and the pressures that are not known downstream of them.
//!
//! When supply pressure exceeds set pressure by less than its differential, a regulator is more or less wide open, and
//! its maker promises nothing: its outlet is somewhere between the supply less the differential, and its set pressure.
//! So are all pressures downstream, while the flows equal the usage.
//!
//! Where its sources are at their capacity it is the other way round: the flow is fixed whatever the regulator does,
//! and with it the pressures downstream. Not known is then how much higher the pressure upstream is, up to the
//! differential.

use drysheath_engineering::index::IndexVec;
use drysheath_engineering::measure::Pressure;
use drysheath_engineering::network::{Link, LinkId, Network, NodeId, RegulatorState, Solution};

/// Less pressure than anybody reads, Pa.
const NOTHING: f64 = 1.0;

/// What the outlet pressure of a regulator out of regulation is between.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutletBounds {
    /// Supply less differential. `None` where the flow is more than it can regulate.
    pub least: Option<Pressure>,
    /// Set pressure, or the supply pressure if that is lower.
    pub most: Pressure,
}

/// Bounds of a regulator's outlet. `None` where it regulates, or where the file states no differential.
pub(super) fn outlet_bounds(network: &Network, solution: &Solution, link: LinkId) -> Option<OutletBounds> {
    let Link::Regulator(regulator) = network.law(link) else {
        return None;
    };
    let state = solution.link(link)?;
    if state.regulator != Some(RegulatorState::OutOfRegulation) || regulator.differential.pascals() <= 0.0 {
        return None;
    }
    let (inlet, _) = network.ends(link);
    let supply = solution.gauge(inlet)?.pascals();
    if supply.abs() < NOTHING {
        // It can pass none on, however it stands.
        return None;
    }
    let overfed = regulator.rated.is_some_and(|rated| state.flow > rated);
    let least = (supply - regulator.differential.pascals()).max(0.0);
    Some(OutletBounds {
        least: (!overfed).then_some(Pressure::from_pascals(least)),
        most: Pressure::from_pascals(regulator.set.pascals().min(supply)),
    })
}

/// What is not known because of a regulator out of regulation.
pub(crate) struct Uncertain {
    /// Which nodes have a pressure that is not known.
    pub nodes: IndexVec<NodeId, bool>,
    /// Whether flows that follow the pressure are not known either: not where sources at their capacity decide them.
    pub flows: bool,
    /// The only regulator that it is, whose outlet is between two known pressures. None where there are several, or where one passes more
    /// than it can regulate.
    pub only: Option<LinkId>,
}

/// What is not known because of a regulator out of regulation. `None` where all regulators regulate.
pub(super) fn uncertain(network: &Network, solution: &Solution) -> Option<Uncertain> {
    let out = network
        .all_links()
        .filter(|link| outlet_bounds(network, solution, *link).is_some());
    let out: Vec<LinkId> = out.collect();
    let mut uncertain = IndexVec::filled(false, network.nodes());
    let is_bounded =
        |link: &LinkId| outlet_bounds(network, solution, *link).is_some_and(|bounds| bounds.least.is_some());
    let only = match out.as_slice() {
        [one] => Some(*one).filter(is_bounded),
        _ => None,
    };
    let mut open: Vec<NodeId> = match out.as_slice() {
        [] => return None,
        [one] => {
            if let Some(before) = starved(network, solution, *one) {
                for node in before {
                    uncertain[node] = true;
                }
                return Some(Uncertain {
                    nodes: uncertain,
                    flows: false,
                    only,
                });
            }
            vec![network.ends(*one).1]
        }
        several => several.iter().map(|link| network.ends(*link).1).collect(),
    };
    while let Some(node) = open.pop() {
        // A place that is open to the surrounding air has its pressure, whatever comes to it.
        if network.is_held(node) || std::mem::replace(&mut uncertain[node], true) {
            continue;
        }
        for link in network.links_at(node) {
            let (from, to) = network.ends(link);
            if from == node {
                open.push(to);
            } else if !network.law(link).is_one_way() {
                open.push(from);
            }
        }
    }
    Some(Uncertain {
        nodes: uncertain,
        flows: true,
        only,
    })
}

/// The nodes upstream of the only regulator out of regulation, where everything that reaches it comes from sources at
/// their capacity that could give it the pressure it needs for this outlet pressure.
fn starved(network: &Network, solution: &Solution, link: LinkId) -> Option<Vec<NodeId>> {
    let Link::Regulator(regulator) = network.law(link) else {
        return None;
    };
    let outlet = solution.gauge(network.ends(link).1)?;
    let least = outlet.pascals() + regulator.differential.pascals();
    network.given_before(solution, link, Pressure::from_pascals(least))
}
