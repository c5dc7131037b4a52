//! Supplies with limited capacity.
//!
//! A supply holds its pressure up to its capacity; beyond that it delivers its capacity, and its pressure falls. The
//! network is first solved with unlimited supplies. If one exceeds its capacity, its flow is fixed instead of its
//! pressure, and the network is solved again from there.
//!
//! # Termination and uniqueness
//!
//! The balances form an M-function (see [`super`]): if less air enters at one node, no pressure anywhere rises. A
//! supply that is limited to its capacity delivers less than before, so all pressures fall or stay. So it cannot return
//! to its own pressure and need not be freed, and supplies that hold their pressure have to deliver more, never less.
//! In each round at least one more supply reaches its capacity and none leaves it: there are no more rounds than
//! supplies. In the end each supply either holds its pressure within its capacity or delivers its capacity at a lower
//! pressure. By the same property there is no other solution.
//!
//! Usage that does not depend on pressure, as in the normal state, may exceed what the supplies can deliver, or what
//! lines can carry from those with spare capacity. Then there is no such solution.

use super::laws::{Boundary, Law};
use super::live::{LiveNetwork, LiveNode};
use super::solver::{NewtonSolver, below_vacuum};
use super::{Link, LinkId, Network, NodeId, RegulatorState, Solution, SupplyId, SupplyState};
use crate::index::IndexVec;
use crate::measure::{Flow, Pressure};

/// Relative tolerance by which a flow may exceed a capacity: the accuracy of the solver.
pub(super) const SOLVER_TOLERANCE: f64 = 1e-6;

/// For each supply the flow required to hold its pressure, if that exceeds its capacity, m³/s.
pub(super) type RequiredFlows = IndexVec<SupplyId, Option<f64>>;

/// Limits the supplies of a converged network to their capacities. `None`, with the network restored, if there is no
/// such solution.
pub(super) fn limit_to_capacities(solver: &mut NewtonSolver, network: &Network) -> Option<RequiredFlows> {
    let mut asked = IndexVec::filled(None, network.supplies.len());
    if !limit(solver, network, &mut asked) {
        return Some(asked);
    }
    let before = (solver.squared.clone(), solver.flows.clone(), solver.outflows.clone());
    let mut found = !is_hopeless(&solver.live, network);
    while found {
        let last = solver.squared.clone();
        lower(solver, &asked);
        found = settles(solver) || approaches(solver, network, &asked, last);
        if found && !limit(solver, network, &mut asked) {
            return Some(asked);
        }
    }
    (solver.squared, solver.flows, solver.outflows) = before;
    solver.live.free();
    None
}

fn settles(solver: &mut NewtonSolver) -> bool {
    solver.run() && below_vacuum(solver).is_none()
}

/// Takes what is asked of the supplies back to their capacities in steps, from the pressures of the network in which they give it: as long as one
/// settles the next is as long again, and else half. Returns false where none leads on.
fn approaches(
    solver: &mut NewtonSolver,
    network: &Network,
    asked: &RequiredFlows,
    mut last: IndexVec<LiveNode, f64>,
) -> bool {
    const MOST_STEPS: u32 = 40;
    const SHORTEST: f64 = 1e-3;
    let (mut part, mut step) = (0.0, 0.5);
    for _ in 0..MOST_STEPS {
        let next = f64::min(part + step, 1.0);
        for (supply, asked) in asked.enumerated() {
            if let Some(asked) = asked {
                solver.live.limit_between(network, supply, *asked, next);
            }
        }
        solver.squared.clone_from(&last);
        if settles(solver) {
            if next >= 1.0 {
                return true;
            }
            part = next;
            last.clone_from(&solver.squared);
        } else {
            step *= 0.5;
            if step < SHORTEST {
                return false;
            }
        }
    }
    false
}

/// Flow of each supply that exceeds its capacity at present.
pub(super) fn exceeded(solver: &NewtonSolver, network: &Network) -> RequiredFlows {
    let supplies = network.supplies.iter().zip(&solver.live.supplies);
    let given = supplies.map(|((_, supply), boundary)| {
        let given = -solver.outflows[(*boundary)?].flow;
        let capacity = supply.capacity?.cubic_metres_per_second();
        (given > capacity * (1.0 + SOLVER_TOLERANCE)).then_some(given)
    });
    given.collect()
}

/// Limits the supplies that exceed their capacity and are not limited yet. Returns whether there are any.
fn limit(solver: &mut NewtonSolver, network: &Network, asked: &mut RequiredFlows) -> bool {
    let mut is_any = false;
    for ((id, found), slot) in exceeded(solver, network).enumerated().zip(asked) {
        if let (Some(given), None) = (found, &slot) {
            *slot = Some(*given);
            solver.live.limit(network, id);
            is_any = true;
        }
    }
    is_any
}

/// Whether pressure-independent usage exceeds the total of all capacities, so that no attempt is needed.
fn is_hopeless(live: &LiveNetwork, network: &Network) -> bool {
    let is_plain =
        |(_, boundary): &(LiveNode, Boundary)| matches!(boundary, Boundary::Supply { .. } | Boundary::Relief { .. });
    let supplies = network.supplies.iter().zip(&live.supplies);
    let given = supplies
        .filter(|(_, boundary)| boundary.is_some())
        .map(|((_, supply), _)| supply.capacity.map_or(f64::INFINITY, Flow::cubic_metres_per_second));
    let used: f64 = live.demand.iter().sum();
    live.boundaries.iter().all(is_plain) && used > given.sum::<f64>() * (1.0 + SOLVER_TOLERANCE)
}

/// Provides a better start for falling pressures: around a supply at its capacity, the highest pressure among those
/// held there and those behind the regulators that it feeds, which open as far as they can. Starting from the present
/// pressures, Newton's steps would not see these open and would go far astray first.
fn lower(solver: &mut NewtonSolver, asked: &RequiredFlows) {
    let live = &solver.live;
    let neighbours = live.neighbours();
    let mut around: IndexVec<LiveNode, Option<SupplyId>> = IndexVec::filled(None, solver.squared.len());
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
                    Law::Regulator(valve) if forwards => level = level.max(valve.opens_at(solver.squared[there])),
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
            for (squared, around) in solver.squared.iter_mut().zip(&around) {
                if *around == Some(supply) {
                    *squared = squared.min(level);
                }
            }
        }
    }
}

impl Network {
    /// The nodes upstream of a link whose flow is fixed regardless of its law, because all air that reaches it comes
    /// from supplies at their capacity that deliver at least `least`, and no pressure-dependent loss occurs on the way.
    /// `None` otherwise.
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
                    // Its flow must not depend on the upstream pressure, nor may it bring air in.
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
