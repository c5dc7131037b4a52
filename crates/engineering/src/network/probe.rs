//! A network in its normal state, to which one hole at a time is made.
//!
//! The question is asked for hundreds of places of one network, so that nothing is put together anew for each: what a hole changes is
//! the law of one line, or what leaves at one node, and Newton's method goes on from the normal state. Where all is laminar it is there
//! after one step.
//!
//! A hole inside a line whose leakage follows its pressure is eliminated: the line stays what it is to its ends, three conductances,
//! of its two pieces and of the hole between them.

use super::laws::{Boundary, FlowAndSlopes, Law, OPENING_CONDUCTANCE, Outflow, flow, pressure};
use super::leakage::{Leakage, LeakingLaw};
use super::linear::Equations;
use super::live::{BoundaryId, LiveLink, LiveNetwork, LiveNode};
use super::solver::{NewtonSolver, below_vacuum};
use super::{Conditions, LinkId, Network, NetworkElement, NoSolution, NodeId, SupplyId, capacity, check};
use crate::index::IndexVec;
use crate::measure::{Flow, Length, Pressure};

/// A hole in a line or at a node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hole {
    /// One that loses this flow at the normal pressure of its place, and in proportion to p² − pₐ² at others.
    Passing(Flow),
    /// The place is open to the surrounding air.
    Open,
}

/// Where a hole is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HoleLocation {
    /// At a node, such as the end of a line.
    Node(NodeId),
    /// Inside a line whose leakage follows its pressure, at a distance from its start.
    Inside(LinkId, Length),
}

/// An end of a link, by its arrow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LinkEnd {
    /// Where the arrow begins.
    Start,
    /// Where it points to.
    End,
}

impl LinkEnd {
    /// The one of two that is of this end.
    fn of<T>(self, [at_start, at_end]: [T; 2]) -> T {
        match self {
            Self::Start => at_start,
            Self::End => at_end,
        }
    }
}

/// A network in its normal state, to which one hole at a time is made.
pub struct Probe {
    network: Network,
    conditions: Conditions,
    solver: NewtonSolver,
    /// The supplies that are at their capacity in the normal state already.
    at_capacity: Vec<SupplyId>,
    /// Squared pressures of the normal state, and flows in it that balance.
    normal: IndexVec<LiveNode, f64>,
    normal_flows: IndexVec<LiveLink, f64>,
    normal_outflows: IndexVec<BoundaryId, f64>,
    /// The slopes of the normal state, once they have been needed.
    slopes: Option<Slopes>,
    /// The place and the conductance of the hole that was foretold last.
    predicted: Option<(HolePlace, f64)>,
    /// What is to be taken off the figures of the search.
    pending_step: PendingStep,
    /// How far a flow of one out of a place lowers the squared pressures.
    fall: IndexVec<LiveNode, f64>,
    /// How far the squared pressures were lowered last.
    step: IndexVec<LiveNode, f64>,
    links: IndexVec<LinkId, Option<LiveLink>>,
    /// Of each line whose leakage follows its pressure: that, and what it loses at its start and end.
    leaking: IndexVec<LiveLink, Option<(Leakage, BoundaryId, BoundaryId)>>,
    /// The hole at a node.
    hole: BoundaryId,
    /// What leaves by the hole that was made last, m³/s.
    lost: f64,
}

/// What the figures of the search lack to be those of the hole that was made or foretold last.
#[derive(Clone, Copy, Debug)]
enum PendingStep {
    /// Nothing: the flows of the solver are those with the hole.
    Nothing,
    /// The flows are those before the last step.
    OfSearch,
    /// The flows are those of the normal state before that step. A hole inside a line draws so much of what it loses at the start and at the end of
    /// that.
    OfNormal(Option<(LiveLink, [f64; 2])>),
}

/// The slopes of a state.
struct Slopes {
    equations: Equations,
    flows: IndexVec<LiveLink, FlowAndSlopes>,
    outflows: IndexVec<BoundaryId, Outflow>,
}

/// A place of a hole in the normal state.
#[derive(Clone, Copy)]
struct HolePlace {
    /// The nodes that it draws from, and the part that it draws from each where all else is free.
    ends: [(LiveNode, f64); 2],
    /// Squared pressure there in the normal state, Pa².
    normal: f64,
    /// The line that it is inside.
    inside: Option<Inside>,
    /// The conductance from it to those nodes and to what is lost beside it.
    within: f64,
}

/// A line with a place inside.
#[derive(Clone, Copy)]
struct Inside {
    link: LiveLink,
    /// What the line loses at its start and end.
    lost: [BoundaryId; 2],
    /// The pieces before and behind the place.
    pieces: [LeakingLaw; 2],
}

impl HolePlace {
    /// The conductance of a hole as it is seen from the nodes.
    fn seen(&self, hole: f64) -> f64 {
        hole / (1.0 + hole / self.within)
    }

    /// Its part of some figures of the nodes.
    fn of(&self, figures: &IndexVec<LiveNode, f64>) -> f64 {
        self.ends.iter().map(|(node, part)| part * figures[*node]).sum()
    }
}

impl Probe {
    /// A network in its normal state, which is solved for that.
    ///
    /// # Errors
    ///
    /// [`NoSolution`] if a figure is impossible, or if there is no normal state.
    pub fn new(network: &Network, conditions: &Conditions) -> Result<Self, NoSolution> {
        check::check(network, conditions)?;
        let (mut live, start) = LiveNetwork::new(network, conditions);
        let mut links = IndexVec::filled(None, network.links());
        for (here, id) in live.links.enumerated() {
            links[*id] = Some(here);
        }
        let mut leaking = IndexVec::filled(None, live.laws.len());
        // What lines lose at their ends is listed line by line.
        let mut ends = live.leakage.chunks_exact(2);
        for (here, id) in live.links.enumerated() {
            let leakage = network.links[*id].leakage;
            match (&live.laws[here], leakage) {
                (Law::Leaking(_), Some(leakage)) => {
                    if let Some([at_start, at_end]) = ends.next() {
                        leaking[here] = Some((leakage, *at_start, *at_end));
                    }
                }
                (Law::Line(_), Some(_)) => {
                    ends.next();
                }
                _ => {}
            }
        }
        let nothing = Boundary::Laminar {
            outside: 0.0,
            conductance: 0.0,
        };
        if live.names.is_empty() {
            return Err(NoSolution::Impossible {
                piece: NetworkElement::Conditions,
                why: "no air reaches anything",
            });
        }
        let hole = live.boundaries.push((LiveNode::from(0), nothing));
        let mut solver = NewtonSolver::new(live, start);
        if !solver.run() {
            return Err(solver.unsettled().unwrap_or(NoSolution::Impossible {
                piece: NetworkElement::Conditions,
                why: "there is no normal state",
            }));
        }
        let asked = capacity::limit_to_capacities(&mut solver, network).ok_or(NoSolution::Impossible {
            piece: NetworkElement::Conditions,
            why: "supplies are asked for more than they can give",
        })?;
        let nodes = solver.squared.len();
        let at_capacity = asked.enumerated().filter(|(_, asked)| asked.is_some());
        Ok(Self {
            network: network.clone(),
            conditions: *conditions,
            at_capacity: at_capacity.map(|(supply, _)| supply).collect(),
            normal: solver.squared.clone(),
            normal_flows: solver.flows.iter().map(|through| through.flow).collect(),
            normal_outflows: solver.outflows.iter().map(|outflow| outflow.flow).collect(),
            slopes: None,
            predicted: None,
            pending_step: PendingStep::Nothing,
            solver,
            fall: IndexVec::filled(0.0, nodes),
            step: IndexVec::filled(0.0, nodes),
            links,
            leaking,
            hole,
            lost: 0.0,
        })
    }

    /// Makes a hole, in place of the one before it. False where there is no air, where that place is inside no line whose leakage
    /// follows its pressure, or where the pressures do not settle.
    pub fn make(&mut self, at: HoleLocation, hole: Hole) -> bool {
        self.solver.squared.clone_from(&self.normal);
        self.free();
        self.pending_step = PendingStep::Nothing;
        self.made(at, hole).is_some()
    }

    /// Makes a hole in place of the one before it, as [`Self::make`] does, but begins with the pressures of that one or of what was foretold, which is
    /// shorter where it is at the same place and nearly as large.
    pub fn change(&mut self, at: HoleLocation, hole: Hole) -> bool {
        self.pending_step = PendingStep::Nothing;
        self.made(at, hole).is_some()
    }

    /// Foretells what a hole would do by the slopes of the normal state, in place of the hole before it. Where the network is linear that is what
    /// it does. False where there is no air, and where that place is inside no line whose leakage follows its pressure.
    pub fn predict(&mut self, at: HoleLocation, hole: Hole) -> bool {
        self.predicted_at(at, hole).is_some()
    }

    fn predicted_at(&mut self, at: HoleLocation, hole: Hole) -> Option<()> {
        let place = self.place(at)?;
        let outside = self.conditions.ambient.pascals().powi(2);
        let conductance = conductance(hole, place.normal, outside)?;
        let seen = place.seen(conductance);
        // What was made before may have brought a supply to its capacity.
        self.free();
        if self.slopes.is_none() {
            self.solver.squared.clone_from(&self.normal);
            self.solver.evaluate();
            self.slopes = self.solver.factor().then(|| Slopes {
                equations: self.solver.equations.clone(),
                flows: self.solver.factored.clone(),
                outflows: self.solver.factored_outflows.clone(),
            });
        }
        let fall = &mut self.fall;
        fall.fill(0.0);
        for (node, part) in place.ends {
            fall[node] += part;
        }
        self.slopes.as_mut()?.equations.solve(fall);
        self.lost = seen * (place.normal - outside) / (1.0 + seen * place.of(fall));
        for ((squared, normal), (fall, step)) in self
            .solver
            .squared
            .iter_mut()
            .zip(&self.normal)
            .zip(fall.iter().zip(&mut self.step))
        {
            *step = self.lost * fall;
            *squared = normal - *step;
        }
        self.predicted = Some((place, conductance));
        self.pending_step = PendingStep::OfNormal(
            place
                .inside
                .map(|inside| (inside.link, place.ends.map(|(_, part)| self.lost * part))),
        );
        Some(())
    }

    /// Takes one step of Newton's method from what was foretold last to what the hole does. How far it leads tells how far that is from the truth: the next
    /// one would lead about the square of it. False where a supply would give more than its capacity.
    pub fn correct(&mut self) -> bool {
        self.corrected() == Some(true) && !self.is_over_capacity()
    }

    fn corrected(&mut self) -> Option<bool> {
        let (place, conductance) = self.predicted?;
        let before = self.open(&place, conductance);
        self.solver.evaluate();
        let is_solvable = self.solver.factor();
        self.shut(&place, before.as_ref());
        let balance = std::mem::take(&mut self.solver.balance);
        self.step.clone_from(self.solver.linear_response(&balance));
        self.solver.balance = balance;
        for (squared, step) in self.solver.squared.iter_mut().zip(&self.step) {
            *squared -= step;
        }
        self.pending_step = PendingStep::OfSearch;
        Some(is_solvable)
    }

    fn is_over_capacity(&self) -> bool {
        let supplies = self.network.supplies.iter().zip(&self.solver.live.supplies);
        let mut given = supplies.filter_map(|((_, supply), boundary)| {
            let boundary = (*boundary)?;
            let (node, _) = self.solver.live.boundaries[boundary];
            let slope = self.solver.factored_outflows[boundary].slope;
            let given = slope * self.step[node] - self.solver.outflows[boundary].flow;
            Some((given, supply.capacity?.cubic_metres_per_second()))
        });
        given.any(|(given, capacity)| given > capacity * (1.0 + capacity::SOLVER_TOLERANCE))
    }

    /// A place in the normal state.
    fn place(&self, at: HoleLocation) -> Option<HolePlace> {
        let at_node = |node: LiveNode| HolePlace {
            ends: [(node, 1.0), (node, 0.0)],
            normal: self.normal[node],
            inside: None,
            within: f64::INFINITY,
        };
        let (link, from_start) = match at {
            HoleLocation::Node(node) => return Some(at_node(self.solver.live.nodes[node]?)),
            HoleLocation::Inside(link, from_start) => (self.links[link]?, from_start),
        };
        let (leakage, at_start, at_end) = self.leaking[link]?;
        let law = self.solver.live.laws[link];
        let Law::Leaking(whole) = &law else { return None };
        let part = law.part(from_start)?;
        let edge = self.solver.live.edges[link];
        if part <= 0.0 {
            return Some(at_node(edge.from));
        }
        if part >= 1.0 {
            return Some(at_node(edge.to));
        }
        let (normal, _) = whole.at(self.normal[edge.from], self.normal[edge.to], part);
        let pieces = [(0.0, part), (part, 1.0)].map(|(from, to)| LeakingLaw::new(&leakage.piece(from, to)));
        let [near, far] = &pieces;
        let within = near.through + far.through + near.at_end + far.at_start;
        Some(HolePlace {
            ends: [(edge.from, near.through / within), (edge.to, far.through / within)],
            normal,
            inside: Some(Inside {
                link,
                lost: [at_start, at_end],
                pieces,
            }),
            within,
        })
    }

    fn made(&mut self, at: HoleLocation, hole: Hole) -> Option<()> {
        let place = self.place(at)?;
        let outside = self.conditions.ambient.pascals().powi(2);
        let conductance = conductance(hole, place.normal, outside)?;
        let before = self.open(&place, conductance);
        let settled = self.settles_again() || self.settle();
        self.lost = self.lost_by(&place, conductance);
        self.shut(&place, before.as_ref());
        settled.then_some(())
    }

    /// Puts a hole into the laws. What it takes to take it out again.
    fn open(&mut self, place: &HolePlace, hole: f64) -> Option<(Law, [(BoundaryId, Boundary); 2])> {
        let outside = self.conditions.ambient.pascals().powi(2);
        let Some(Inside { link, lost, pieces }) = place.inside else {
            let node = place.ends[0].0;
            let conductance = hole;
            self.solver.live.boundaries[self.hole] = (node, Boundary::Laminar { outside, conductance });
            return None;
        };
        let law = self.solver.live.laws[link];
        let Law::Leaking(mut with_hole) = law else { return None };
        let ([at_start, at_end], [near, far]) = (lost, pieces);
        // The place between the pieces is eliminated: what leaves it goes out by the hole and what the pieces lose there.
        let out = near.at_end + hole + far.at_start;
        let all = near.through + far.through + out;
        with_hole.through = near.through / all * far.through;
        let start = near.at_start + near.through / all * out;
        let end = far.at_end + far.through / all * out;
        self.solver.live.laws[link] = Law::Leaking(with_hole);
        let before = [(at_start, start), (at_end, end)].map(|(boundary, conductance)| {
            let law = &mut self.solver.live.boundaries[boundary].1;
            (
                boundary,
                std::mem::replace(law, Boundary::Laminar { outside, conductance }),
            )
        });
        Some((law, before))
    }

    fn shut(&mut self, place: &HolePlace, before: Option<&(Law, [(BoundaryId, Boundary); 2])>) {
        let Some((Inside { link, .. }, (law, boundaries))) = place.inside.zip(before) else {
            self.solver.live.boundaries[self.hole].1 = Boundary::Laminar {
                outside: 0.0,
                conductance: 0.0,
            };
            return;
        };
        self.solver.live.laws[link] = *law;
        for (boundary, law) in boundaries {
            self.solver.live.boundaries[*boundary].1 = *law;
        }
    }

    /// What leaves by a hole that was made.
    fn lost_by(&self, place: &HolePlace, hole: f64) -> f64 {
        if place.inside.is_none() {
            return self.solver.outflows[self.hole].flow;
        }
        let outside = self.conditions.ambient.pascals().powi(2);
        let ends = place.ends.iter();
        place.seen(hole)
            * ends
                .map(|(node, part)| part * (self.solver.squared[*node] - outside))
                .sum::<f64>()
    }

    /// Lets every supply give any flow, but for those that are at their capacity in the normal state.
    fn free(&mut self) {
        self.solver.live.free();
        for supply in &self.at_capacity {
            self.solver.live.limit(&self.network, *supply);
        }
    }

    /// Looks for the balance near that of the hole before, where that has brought a supply to its capacity: at most with the same ones at
    /// theirs. There is no other balance (see [`capacity`]). Where it is not found the search is to begin with the normal state.
    fn settles_again(&mut self) -> bool {
        let is_limited = |supply: &SupplyId| {
            let boundary = self.solver.live.supplies[*supply];
            boundary.is_some_and(|boundary| match self.solver.live.boundaries[boundary].1 {
                Boundary::Supply { most, .. } => most.is_finite(),
                _ => false,
            })
        };
        let limited = self.solver.live.supplies.keys().filter(is_limited).count();
        if limited <= self.at_capacity.len() {
            return false;
        }
        let is_found = self.solver.run_near()
            && below_vacuum(&self.solver).is_none()
            && capacity::exceeded(&self.solver, &self.network)
                .iter()
                .all(Option::is_none);
        if !is_found {
            self.solver.squared.clone_from(&self.normal);
        }
        is_found
    }

    /// Looks for the balance with a hole, in which no supply gives more than its capacity.
    fn settle(&mut self) -> bool {
        self.free();
        self.solver.run() && capacity::limit_to_capacities(&mut self.solver, &self.network).is_some()
    }

    /// What leaves by the hole that was made last.
    pub fn lost(&self) -> Flow {
        flow(self.lost)
    }

    /// Whether air reaches a link.
    pub fn reaches(&self, link: LinkId) -> bool {
        self.links[link].is_some()
    }

    /// Pressure above the surrounding air at a node, with the hole that was made last. None where no air is.
    pub fn gauge(&self, node: NodeId) -> Option<Pressure> {
        let live = self.solver.live.nodes[node]?;
        Some(pressure(self.solver.squared[live]) - self.conditions.ambient)
    }

    /// Flow along the arrow of a link past one of its ends, with the hole that was made last.
    pub fn flow_at(&self, link: LinkId, end: LinkEnd) -> Option<Flow> {
        let live = self.links[link]?;
        let edge = self.solver.live.edges[live];
        let leaking = self.leaking[live].map(|(_, at_start, at_end)| [at_start, at_end]);
        let (node, sign) = end.of([(edge.from, 1.0), (edge.to, -1.0)]);
        let leaking = leaking.map(|ends| end.of(ends));
        let through = |base: f64, slopes: &IndexVec<LiveLink, FlowAndSlopes>| {
            let slopes = slopes[live];
            base - slopes.before * self.step[edge.from] + slopes.behind * self.step[edge.to]
        };
        let lost_at = |base: f64, slope: f64| base - slope * self.step[node];
        let (through, lost) = match (self.pending_step, &self.slopes) {
            (PendingStep::OfNormal(inside), Some(slopes)) => {
                let drawn = inside
                    .filter(|(link, _)| *link == live)
                    .map_or(0.0, |(_, drawn)| end.of(drawn));
                let lost = |at: BoundaryId| lost_at(self.normal_outflows[at], slopes.outflows[at].slope) + drawn;
                (through(self.normal_flows[live], &slopes.flows), leaking.map(lost))
            }
            (PendingStep::OfSearch, _) => {
                let solver = &self.solver;
                let lost = |at: BoundaryId| lost_at(solver.outflows[at].flow, solver.factored_outflows[at].slope);
                (through(solver.flows[live].flow, &solver.factored), leaking.map(lost))
            }
            _ => {
                let lost = |boundary: BoundaryId| self.solver.outflows[boundary].flow;
                (self.solver.flows[live].flow, leaking.map(lost))
            }
        };
        let lost = lost.unwrap_or(self.solver.live.laws[live].usage() / 2.0);
        Some(flow(through + sign * lost))
    }
}

/// What a hole lets out for each Pa². None where there is no pressure above that of the surrounding air.
fn conductance(hole: Hole, normal: f64, outside: f64) -> Option<f64> {
    match hole {
        Hole::Open => Some(OPENING_CONDUCTANCE),
        Hole::Passing(flow) => (normal > outside).then(|| flow.cubic_metres_per_second() / (normal - outside)),
    }
}
