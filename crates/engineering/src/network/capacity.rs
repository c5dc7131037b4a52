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
        let mut searches = [Search::Quick, Search::Thorough].into_iter();
        found = searches.any(|search| approaches(solver, network, &asked, last.clone(), search));
        if found && !limit(solver, network, &mut asked) {
            return Some(asked);
        }
    }
    (solver.squared, solver.flows, solver.outflows) = before;
    solver.live.free();
    None
}

/// How the balance with some supplies at their capacity is looked for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Search {
    /// By Newton's steps from near it.
    Quick,
    /// By all means, where those do not find it.
    Thorough,
}

/// Looks for the balance from the pressures `last`. Returns false where it is not found, or below vacuum.
fn settles(solver: &mut NewtonSolver, asked: &RequiredFlows, last: &IndexVec<LiveNode, f64>, search: Search) -> bool {
    let start = |solver: &mut NewtonSolver| {
        solver.squared.clone_from(last);
        lower(solver, asked);
    };
    start(solver);
    let mut is_found = solver.run_near();
    if !is_found {
        start(solver);
        is_found = descends(solver, asked);
    }
    if !is_found && search == Search::Thorough {
        start(solver);
        is_found = solver.run();
    }
    is_found && below_vacuum(solver).is_none()
}

/// Makes Newton's steps, and after each keeps the pressure before regulators down to where they open. Where that follows from the pressure behind them
/// less exactly than that itself, a step can end where they seem to regulate; from there the next one would see no lower end to the pressure before
/// them, from which a supply at its capacity only takes away.
fn descends(solver: &mut NewtonSolver, asked: &RequiredFlows) -> bool {
    const MOST_STEPS: u32 = 20;
    (0..MOST_STEPS).any(|_| {
        lower_around(solver, asked, |fed| !fed.is_open);
        solver.step_once()
    })
}

/// Takes what is asked of the supplies back to their capacities, from the pressures `last` of the network in which they give it: at once, or else in
/// steps. As long as one settles the next is as long again, and else half. Returns false where none leads on.
fn approaches(
    solver: &mut NewtonSolver,
    network: &Network,
    asked: &RequiredFlows,
    mut last: IndexVec<LiveNode, f64>,
    search: Search,
) -> bool {
    const MOST_STEPS: u32 = 40;
    const SHORTEST: f64 = 1e-3;
    let (mut part, mut step) = (0.0, 1.0);
    for _ in 0..MOST_STEPS {
        let next = f64::min(part + step, 1.0);
        for (supply, asked) in asked.enumerated() {
            if let Some(asked) = asked {
                solver.live.limit_between(network, supply, *asked, next);
            }
        }
        if settles(solver, asked, &last, search) {
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
    lower_around(solver, asked, |_| true);
}

/// What a supply at its capacity feeds without a regulator between.
#[derive(Default)]
struct Fed {
    /// The highest squared pressure that holds it up from elsewhere, or from which a regulator of it opens, Pa².
    level: f64,
    /// Whether a regulator of it is wide open.
    is_open: bool,
}

/// As [`lower`], around the supplies of which `is_lowered` says so.
fn lower_around(solver: &mut NewtonSolver, asked: &RequiredFlows, is_lowered: impl Fn(&Fed) -> bool) {
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
        let mut fed = Fed::default();
        let mut open = vec![first];
        while let Some(here) = open.pop() {
            for &(link, forwards) in neighbours.of(here) {
                let edge = live.edges[link];
                let there = if forwards { edge.to } else { edge.from };
                match &live.laws[link] {
                    Law::Regulator(valve) if forwards => {
                        fed.level = fed.level.max(valve.opens_at(solver.squared[there]));
                        fed.is_open |= valve.is_wide_open(solver.squared[here], solver.squared[there]);
                    }
                    Law::Regulator(valve) => fed.level = fed.level.max(valve.set * valve.set),
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
                Boundary::Held { squared } => fed.level = fed.level.max(squared),
                Boundary::Supply { squared, most } if most.is_infinite() => fed.level = fed.level.max(squared),
                _ => {}
            }
        }
        if fed.level > 0.0 && is_lowered(&fed) {
            for (squared, around) in solver.squared.iter_mut().zip(&around) {
                if *around == Some(supply) {
                    *squared = squared.min(fed.level);
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
