//! Newton's method on P = p², and its fallbacks.

use super::check::check;
use super::laws::{Boundary, FlowAndSlopes, Law, Outflow, Relaxation, flow};
use super::linear::Equations;
use super::live::{BoundaryId, LiveLink, LiveNetwork, LiveNode};
use super::neighbours::Neighbours;
use super::root_finding::find_root;
use super::solution::{Effort, Solution};
use super::{Conditions, Network, NetworkElement, NoSolution, capacity};
use crate::index::IndexVec;

/// Newton steps at full length before fallbacks are tried.
const PLAIN_STEPS: u32 = 12;
/// Stages in which soft devices are hardened by a factor of ten.
const STAGES: u32 = 12;
/// Limit of halvings of a damped step.
const HALVINGS: u32 = 45;
/// A step that changes no P by more than this fraction of the highest is close to convergence.
const NEAR: f64 = 1e-6;
/// Rounds of Gauss–Seidel sweeps and damped Newton steps as the last fallback.
const ROUNDS: u32 = 40;
const SWEEPS: u32 = 8;
const DAMPED_STEPS: u32 = 50;
/// A step that changes no P by more than this fraction of the highest counts as zero.
const STEP_ENDS: f64 = 1e-10;
/// Relative change of slopes since they were factored up to which they are used for a last step.
const SLOPES_HOLD: f64 = 0.1;

/// Computes the pressures and flows of a network.
///
/// A supply with a capacity delivers no more than that: beyond it, its pressure falls. It delivers more only if
/// pressure-independent usage leaves no such solution: see [`SupplyState::over_capacity`](super::SupplyState).
///
/// The cost is about proportional to the number of nodes. Nodes that no air can reach are not an error: they are
/// reported as dead, and usage and leaks there are ignored.
///
/// # Errors
///
/// [`NoSolution`] if a figure is impossible, if more is used than the lines can carry, or if the computation does not
/// converge.
pub fn solve(network: &Network, conditions: &Conditions) -> Result<Solution, NoSolution> {
    let mut solver = settled(network, conditions)?;
    let asked = capacity::limit_to_capacities(&mut solver, network);
    Ok(Solution::new(network, conditions, solver, asked.as_ref()))
}

/// Solves the network with unlimited supplies.
pub(super) fn settled(network: &Network, conditions: &Conditions) -> Result<NewtonSolver, NoSolution> {
    check(network, conditions)?;
    let (live, start) = LiveNetwork::new(network, conditions);
    let mut solver = NewtonSolver::new(live, start);
    if !solver.run()
        && let Some(failure) = solver.unsettled()
    {
        return Err(failure);
    }
    match below_vacuum(&solver) {
        Some(at) => Err(NoSolution::Overdrawn { at }),
        None => Ok(solver),
    }
}

/// The node or line whose P is farthest below zero. A line drained from both ends may be lowest inside.
pub(super) fn below_vacuum(solver: &NewtonSolver) -> Option<NetworkElement> {
    let network = &solver.live;
    let nodes = network.names.iter().map(|name| NetworkElement::Node(*name));
    let nodes = nodes.zip(solver.squared.iter().copied());
    let insides = network.laws.enumerated().filter_map(|(link, law)| {
        let Law::Line(line) = law else { return None };
        let flow = solver.flows[link].flow;
        let part = line.lowest(flow)?;
        let start = solver.squared[network.edges[link].from];
        Some((
            NetworkElement::Link(network.links[link]),
            start - line.fall_to(flow, part),
        ))
    });
    let (piece, lowest) = nodes.chain(insides).min_by(|a, b| a.1.total_cmp(&b.1))?;
    (lowest <= 0.0).then_some(piece)
}

fn largest<'v>(values: impl IntoIterator<Item = &'v f64>) -> f64 {
    // Propagates NaN, unlike f64::max.
    values
        .into_iter()
        .fold(0.0, |most, value| if value.abs() <= most { most } else { value.abs() })
}

pub(super) struct NewtonSolver {
    pub live: LiveNetwork,
    pub equations: Equations,
    pub squared: IndexVec<LiveNode, f64>,
    start: IndexVec<LiveNode, f64>,
    /// The highest initial P.
    highest: f64,
    relaxation: Relaxation,
    /// Flow and slopes of each link and boundary at `squared`.
    pub flows: IndexVec<LiveLink, FlowAndSlopes>,
    pub outflows: IndexVec<BoundaryId, Outflow>,
    /// The slopes of the last factorization; empty before the first.
    pub factored: IndexVec<LiveLink, FlowAndSlopes>,
    pub factored_outflows: IndexVec<BoundaryId, Outflow>,
    /// Outflow minus inflow of each node.
    pub balance: IndexVec<LiveNode, f64>,
    step: IndexVec<LiveNode, f64>,
    /// Slope of the outflow from the network at each node.
    own_slopes: IndexVec<LiveNode, f64>,
    pub effort: Effort,
}

impl NewtonSolver {
    pub fn new(live: LiveNetwork, start: IndexVec<LiveNode, f64>) -> Self {
        let nodes = start.len();
        Self {
            equations: Equations::new(nodes, &live.edges),
            highest: largest(&start),
            squared: start.clone(),
            start,
            relaxation: Relaxation::NONE,
            flows: IndexVec::filled(FlowAndSlopes::default(), live.laws.len()),
            outflows: IndexVec::filled(Outflow::default(), live.boundaries.len()),
            factored: IndexVec::new(),
            factored_outflows: IndexVec::new(),
            balance: IndexVec::filled(0.0, nodes),
            step: IndexVec::filled(0.0, nodes),
            own_slopes: IndexVec::filled(0.0, nodes),
            effort: Effort::default(),
            live,
        }
    }

    /// Searches the solution from the present pressures, which should be near it. Returns false if it does not converge.
    pub fn run_near(&mut self) -> bool {
        self.squared.is_empty() || self.newton(PLAIN_STEPS, false)
    }

    /// Makes one step towards the solution. Returns true where it was the last.
    pub fn step_once(&mut self) -> bool {
        self.newton(1, false)
    }

    /// Searches the solution from the present pressures, by all means. Returns false if it does not converge.
    pub fn run(&mut self) -> bool {
        if self.run_near() || self.newton(DAMPED_STEPS, true) || self.tighten() {
            return true;
        }
        let neighbours = self.live.neighbours();
        let mut boundaries_of: IndexVec<LiveNode, Vec<Boundary>> = IndexVec::filled(Vec::new(), self.squared.len());
        for (node, boundary) in &self.live.boundaries {
            boundaries_of[*node].push(*boundary);
        }
        for _ in 0..ROUNDS {
            for _ in 0..SWEEPS {
                self.sweep(&neighbours, &boundaries_of);
            }
            if self.newton(DAMPED_STEPS, true) {
                return true;
            }
        }
        false
    }

    /// Solves with soft devices and hardens them in stages, each starting from the previous solution.
    fn tighten(&mut self) -> bool {
        let (sum, lines) = self
            .live
            .laws
            .iter()
            .filter_map(Law::line_resistance)
            .fold((0.0, 0.0), |(sum, lines), resistance| {
                (sum + resistance.ln(), lines + 1.0)
            });
        let usual = if lines > 0.0 { f64::exp(sum / lines) } else { 1e13 };
        self.squared.clone_from(&self.start);
        let mut part = 1.0;
        for _ in 0..STAGES {
            self.relaxation = Relaxation {
                open: usual * part,
                shut: part / usual,
            };
            if !self.newton(DAMPED_STEPS, true) {
                break;
            }
            part *= 0.1;
        }
        self.relaxation = Relaxation::NONE;
        self.newton(DAMPED_STEPS, true)
    }

    /// Makes Newton steps. Returns true on convergence; the flows are then balanced to rounding.
    fn newton(&mut self, steps: u32, damped: bool) -> bool {
        let ends = STEP_ENDS * self.highest;
        self.evaluate();
        self.factored.clear();
        for _ in 0..steps {
            if self.slopes_hold() {
                self.direction();
                if largest(&self.step) <= ends && self.finish() {
                    return true;
                }
            }
            if !self.factor() {
                return false;
            }
            self.effort.newton += 1;
            self.direction();
            let size = largest(&self.step);
            if !size.is_finite() {
                return false;
            }
            if size <= ends {
                if self.finish() {
                    return true;
                }
                continue;
            }
            if damped {
                self.shorten(size);
            } else {
                self.limit_step();
                for (squared, step) in self.squared.iter_mut().zip(&self.step) {
                    *squared -= step;
                }
                self.evaluate();
            }
        }
        false
    }

    /// Limits a step. Behind a valve that is closed at the moment, usage has no source, and the step would be so large
    /// that its reversal is lost in rounding; from slightly below vacuum, the valve is open again.
    fn limit_step(&mut self) {
        for (step, squared) in self.step.iter_mut().zip(&self.squared) {
            let most = self.highest + squared.abs();
            *step = step.clamp(-most, most);
        }
    }

    /// Shortens the step until the sum of imbalances decreases, which Newton's direction guarantees for a short
    /// distance, or until it is so close to convergence that only rounding is left.
    fn shorten(&mut self, size: f64) {
        let from = self.squared.clone();
        let direction = self.step.clone();
        let before: f64 = self.balance.iter().map(|balance| balance.abs()).sum();
        let mut part = ((self.highest + largest(&from)) / size).min(1.0);
        for _ in 0..HALVINGS {
            for ((squared, from), step) in self.squared.iter_mut().zip(&from).zip(&direction) {
                *squared = from - part * step;
            }
            self.evaluate();
            let after: f64 = self.balance.iter().map(|balance| balance.abs()).sum();
            if after <= (1.0 - 1e-4 * part) * before {
                return;
            }
            if size <= NEAR * self.highest {
                self.direction();
                if largest(&self.step) <= 0.5 * size {
                    return;
                }
            }
            part *= 0.5;
        }
    }

    pub fn evaluate(&mut self) {
        self.balance.clone_from(&self.live.demand);
        for ((law, edge), slot) in self.live.laws.iter().zip(&self.live.edges).zip(&mut self.flows) {
            *slot = law.through(self.squared[edge.from], self.squared[edge.to], self.relaxation);
            self.balance[edge.from] += slot.flow;
            self.balance[edge.to] -= slot.flow;
        }
        for ((node, boundary), slot) in self.live.boundaries.iter().zip(&mut self.outflows) {
            *slot = boundary.out(self.squared[*node], self.relaxation);
            self.balance[*node] += slot.flow;
        }
    }

    fn slopes_hold(&self) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() <= SLOPES_HOLD * b;
        self.factored.len() == self.flows.len()
            && self.factored_outflows.len() == self.outflows.len()
            && self.effort.newton > 0
            && self
                .flows
                .iter()
                .zip(&self.factored)
                .all(|(a, b)| near(a.before, b.before) && near(a.behind, b.behind))
            && self
                .outflows
                .iter()
                .zip(&self.factored_outflows)
                .all(|(a, b)| near(a.slope, b.slope))
    }

    /// Factors the slopes at the present pressures. Returns false if the equations have no unique solution.
    pub fn factor(&mut self) -> bool {
        self.factored.clone_from(&self.flows);
        self.factored_outflows.clone_from(&self.outflows);
        self.own_slopes.fill(0.0);
        for ((node, _), outflow) in self.live.boundaries.iter().zip(&self.outflows) {
            self.own_slopes[*node] += outflow.slope;
        }
        self.equations
            .factor(&self.live.edges, &self.factored, &self.own_slopes)
    }

    /// The Newton step for the present balances, with the factored slopes.
    fn direction(&mut self) {
        self.step.clone_from(&self.balance);
        self.equations.solve(&mut self.step);
    }

    /// The changes of P that produce some balances, with the slopes factored last.
    pub fn linear_response(&mut self, balance: &IndexVec<LiveNode, f64>) -> &IndexVec<LiveNode, f64> {
        self.step.clone_from(balance);
        self.equations.solve(&mut self.step);
        &self.step
    }

    /// Updates pressures *and flows* by the last steps. Flows computed from differences of nearly equal P would balance
    /// only to the rounding of P; updated by their own changes they balance to the rounding of flows.
    ///
    /// Returns false, after a new evaluation, if the flows do not obey the laws: even the smallest step can pass the
    /// point where a valve closes and continue with the flow of an open one.
    fn finish(&mut self) -> bool {
        for _ in 0..3 {
            for (squared, step) in self.squared.iter_mut().zip(&self.step) {
                *squared -= step;
            }
            self.balance.clone_from(&self.live.demand);
            for ((flow, slope), edge) in self.flows.iter_mut().zip(&self.factored).zip(&self.live.edges) {
                flow.flow -= slope.before * self.step[edge.from] - slope.behind * self.step[edge.to];
                self.balance[edge.from] += flow.flow;
                self.balance[edge.to] -= flow.flow;
            }
            let factored = self.outflows.iter_mut().zip(&self.factored_outflows);
            for ((outflow, factored), (node, _)) in factored.zip(&self.live.boundaries) {
                outflow.flow -= factored.slope * self.step[*node];
                self.balance[*node] += outflow.flow;
            }
            self.direction();
        }
        let lawful = self.is_lawful();
        if !lawful {
            self.evaluate();
        }
        lawful
    }

    /// Whether each flow agrees with its law, within a billionth of the largest flow and the rounding of P.
    fn is_lawful(&self) -> bool {
        let links = self.flows.iter().map(|through| through.flow.abs());
        let boundaries = self.outflows.iter().map(|outflow| outflow.flow.abs());
        let part = 1e-9 * links.chain(boundaries).fold(0.0, f64::max);
        let rounding = 8.0 * f64::EPSILON * self.highest.max(largest(&self.squared));
        self.live.laws.enumerated().all(|(link, law)| {
            let (found, factored, edge) = (self.flows[link], self.factored[link], self.live.edges[link]);
            let now = law.through(self.squared[edge.from], self.squared[edge.to], self.relaxation);
            let steepest = now.before.max(now.behind).max(factored.before).max(factored.behind);
            (now.flow - found.flow).abs() <= part + steepest * rounding
        }) && self.live.boundaries.enumerated().all(|(id, (node, boundary))| {
            let now = boundary.out(self.squared[*node], self.relaxation);
            let steepest = now.slope.max(self.factored_outflows[id].slope);
            (now.flow - self.outflows[id].flow).abs() <= part + steepest * rounding
        })
    }

    /// One nonlinear Gauss–Seidel sweep: balances each node in turn against the present pressures of its neighbours.
    fn sweep(&mut self, neighbours: &Neighbours<LiveNode, LiveLink>, boundaries: &IndexVec<LiveNode, Vec<Boundary>>) {
        self.effort.sweeps += 1;
        for (node, boundaries) in boundaries.enumerated() {
            let links = neighbours.of(node);
            let (live, squared) = (&self.live, &self.squared);
            // Outflow of the node at this P: it increases with P.
            let balance = |here: f64| {
                let mut sum = live.demand[node];
                for &(link, forwards) in links {
                    let (law, edge) = (&live.laws[link], live.edges[link]);
                    if edge.from == edge.to {
                        continue;
                    }
                    sum += if forwards {
                        law.through(here, squared[edge.to], Relaxation::NONE).flow
                    } else {
                        -law.through(squared[edge.from], here, Relaxation::NONE).flow
                    };
                }
                for boundary in boundaries {
                    sum += boundary.out(here, Relaxation::NONE).flow;
                }
                sum
            };
            let found = find_root(balance, squared[node]);
            self.squared[node] = found;
        }
    }

    /// The error at the node with the largest imbalance. A network without nodes cannot fail.
    pub fn unsettled(&self) -> Option<NoSolution> {
        let balances = self.live.names.iter().zip(&self.balance);
        let (node, imbalance) = balances.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
        Some(NoSolution::Unsettled {
            at: *node,
            imbalance: flow(*imbalance),
            steps: self.effort.newton,
        })
    }
}
