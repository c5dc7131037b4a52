//! Supplies that give no more than their capacity.
//!
//! A supply holds its pressure and gives what it is asked for, up to its capacity; beyond that it gives its capacity, and its
//! pressure is whatever that leaves. The network is solved first as if every supply could give any flow. If one gives more than its
//! capacity, that flow is held fixed in place of its pressure, and the network is solved again from there.
//!
//! # Why that ends, and with the only solution
//!
//! The balances form an M-function (see [`super`]): let less in at one node, and no pressure anywhere rises. A supply that is brought down
//! to its capacity lets in less than before, so that all pressures fall or stay. It can never get back to its own pressure for
//! that, and need not be freed; and one that could hold its pressure is asked for more, never for less. So in each round at least one more
//! supply comes to its capacity and none leaves it: there are no more rounds than supplies. At the end each supply either holds its
//! pressure within its capacity or gives its capacity at a lower pressure. By the same property there is no other solution.
//!
//! What is used whatever the pressure, as in a normal state, may be more than the supplies can give, or than lines can bring from
//! those that have some left. Then there is no such solution.

use super::laws::{Boundary, Law};
use super::live::{LiveNetwork, LiveNode};
use super::solver::{Search, below_vacuum};
use super::{Link, LinkId, Network, NodeId, RegulatorState, Solution, SupplyId, SupplyState};
use crate::index::IndexVec;
use crate::measure::{Flow, Pressure};

/// By how much a flow may be more than a capacity and still count as that: what solving may be off by.
pub(super) const SOLVING: f64 = 1e-6;

/// What each supply is asked for to hold its pressure, where that is more than its capacity, m³/s.
pub(super) type Asked = IndexVec<SupplyId, Option<f64>>;

/// Brings each supply of a network that has settled down to its capacity. None, and the network as it was, where there is no such
/// solution.
pub(super) fn keep(search: &mut Search, network: &Network) -> Option<Asked> {
    let mut asked = IndexVec::filled(None, network.supplies.len());
    if !limit(search, network, &mut asked) {
        return Some(asked);
    }
    let before = (search.squared.clone(), search.flows.clone(), search.outflows.clone());
    let mut found = !is_hopeless(&search.live, network);
    while found {
        lower(search, &asked);
        found = search.run() && below_vacuum(search).is_none();
        if found && !limit(search, network, &mut asked) {
            return Some(asked);
        }
    }
    (search.squared, search.flows, search.outflows) = before;
    search.live.free();
    None
}

/// What each supply is asked for that gives more than its capacity, as things stand.
pub(super) fn exceeded(search: &Search, network: &Network) -> Asked {
    let supplies = network.supplies.iter().zip(&search.live.supplies);
    let given = supplies.map(|((_, supply), boundary)| {
        let given = -search.outflows[(*boundary)?].flow;
        let capacity = supply.capacity?.cubic_metres_per_second();
        (given > capacity * (1.0 + SOLVING)).then_some(given)
    });
    given.collect()
}

/// Limits the supplies that give more than their capacity and were not limited before. Whether there are any.
fn limit(search: &mut Search, network: &Network, asked: &mut Asked) -> bool {
    let mut is_any = false;
    for ((id, found), slot) in exceeded(search, network).enumerated().zip(asked) {
        if let (Some(given), None) = (found, &slot) {
            *slot = Some(*given);
            search.live.limit(network, id);
            is_any = true;
        }
    }
    is_any
}

/// Whether more is used whatever the pressure than all supplies can give together, so that nothing need be tried.
fn is_hopeless(live: &LiveNetwork, network: &Network) -> bool {
    let is_plain =
        |(_, boundary): &(LiveNode, Boundary)| matches!(boundary, Boundary::Supply { .. } | Boundary::Relief { .. });
    let supplies = network.supplies.iter().zip(&live.supplies);
    let given = supplies
        .filter(|(_, boundary)| boundary.is_some())
        .map(|((_, supply), _)| supply.capacity.map_or(f64::INFINITY, Flow::cubic_metres_per_second));
    let used: f64 = live.demand.iter().sum();
    live.boundaries.iter().all(is_plain) && used > given.sum::<f64>() * (1.0 + SOLVING)
}

/// A better start for pressures that will fall: around a supply at its capacity the highest of what holds a pressure there and what is behind
/// the regulators that it feeds, which open as far as they can. From the pressures as they are Newton's steps do not see
/// these open, and go far astray before they do.
fn lower(search: &mut Search, asked: &Asked) {
    let live = &search.live;
    let neighbours = live.neighbours();
    let mut around: IndexVec<LiveNode, Option<SupplyId>> = IndexVec::filled(None, search.squared.len());
    for (supply, boundary) in live.supplies.enumerated() {
        let Some(boundary) = boundary.filter(|_| asked[supply].is_some()) else {
            continue;
        };
        let (first, _) = live.boundaries[boundary];
        if around[first].replace(supply).is_some() {
            continue;
        }
        let mut level: f64 = 0.0;
        let mut open = vec![first];
        while let Some(here) = open.pop() {
            for &(link, forwards) in neighbours.of(here) {
                let edge = live.edges[link];
                let there = if forwards { edge.to } else { edge.from };
                match &live.laws[link] {
                    Law::Regulator(_) if forwards => level = level.max(search.squared[there]),
                    Law::Regulator(valve) => level = level.max(valve.set * valve.set),
                    _ if around[there].is_none() => {
                        around[there] = Some(supply);
                        open.push(there);
                    }
                    _ => {}
                }
            }
        }
        for (_, boundary) in live.boundaries.iter().filter(|(node, _)| around[*node] == Some(supply)) {
            match *boundary {
                Boundary::Held { squared } => level = level.max(squared),
                Boundary::Supply { squared, most } if most.is_infinite() => level = level.max(squared),
                _ => {}
            }
        }
        if level > 0.0 {
            for (squared, around) in search.squared.iter_mut().zip(&around) {
                if *around == Some(supply) {
                    *squared = squared.min(level);
                }
            }
        }
    }
}

impl Network {
    /// The places before a link whose flow is given whatever its law, because all air that comes to it is from supplies at their
    /// capacity that deliver at least `least`, and none is lost on the way there in a way that follows the pressure. None where that is not
    /// so.
    pub fn given_before(&self, solution: &Solution, link: LinkId, least: Pressure) -> Option<Vec<NodeId>> {
        let is_at_capacity = |state: SupplyState| state.asked.is_some() && !state.over_capacity;
        let mut before = vec![self.ends(link).0];
        let mut next = 0;
        while let Some(here) = before.get(next).copied() {
            next += 1;
            let leaks = self.leaks.iter().any(|(at, _)| *at == here);
            if leaks || self.nodes[here].held.is_some() {
                return None;
            }
            for (id, (_, supply)) in self.supplies.enumerated().filter(|(_, (at, _))| *at == here) {
                let gives = solution.supply(id).is_some_and(is_at_capacity) && supply.delivers >= least;
                gives.then_some(())?;
            }
            for other in self.links_at(here).filter(|other| *other != link) {
                let joined = &self.links[other];
                if let Link::Regulator(_) = joined.link {
                    // Its flow must not depend on what is before it, nor may it bring any.
                    let state = solution.link(other)?.regulator;
                    let is_shut = state == Some(RegulatorState::ClosedByBackPressure);
                    let is_steady = joined.from == here && state == Some(RegulatorState::Regulating);
                    (is_shut || is_steady).then_some(())?;
                    continue;
                }
                if joined.leakage.is_some() {
                    return None;
                }
                let there = if joined.from == here { joined.to } else { joined.from };
                if !before.contains(&there) {
                    before.push(there);
                }
            }
        }
        Some(before)
    }
}
