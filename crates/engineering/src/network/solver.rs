//! Newton on P = p², and the methods that it falls back on.

use super::check::check;
use super::laws::{Boundary, Law, Outflow, Softness, Through, flow};
use super::linear::Equations;
use super::live::{BoundaryId, LiveLink, LiveNetwork, LiveNode};
use super::neighbours::Neighbours;
use super::solution::{Effort, Solution};
use super::zero::zero;
use super::{Conditions, Network, NoSolution, Piece, capacity};
use crate::index::IndexVec;

/// Newton steps taken at full length before any doubt.
const PLAIN_STEPS: u32 = 12;
/// Times that soft devices are made ten times as hard.
const STAGES: u32 = 12;
/// Times that a damped step is cut in half.
const HALVINGS: u32 = 45;
/// A step that moves no P by more than this part of the highest is near the end.
const NEAR: f64 = 1e-6;
/// Rounds of Gauss–Seidel sweeps and damped Newton steps after that.
const ROUNDS: u32 = 40;
const SWEEPS: u32 = 8;
const DAMPED_STEPS: u32 = 50;
/// A step is nothing if it moves no P by more than this part of the highest.
const STEP_ENDS: f64 = 1e-10;
/// Slopes that moved less than this since they were factored are good enough for a last step.
const SLOPES_HOLD: f64 = 0.1;

/// Computes the pressures and flows of a network.
///
/// Of a supply that states its capacity no more is taken than that: its pressure falls where more is asked for. Only where what is used
/// whatever the pressure leaves no such solution does it give more: see [`SupplyState::over_capacity`](super::SupplyState).
///
/// The cost grows about in line with the number of nodes. Nodes that no air can reach are not a failure: they are
/// reported as dead, and what is used or lost there counts for nothing.
///
/// # Errors
///
/// [`NoSolution`] if a figure is impossible, if more is used than the lines can bring, or if the computation does not
/// settle.
pub fn solve(network: &Network, conditions: &Conditions) -> Result<Solution, NoSolution> {
    let mut search = settled(network, conditions)?;
    let asked = capacity::keep(&mut search, network);
    Ok(Solution::new(network, conditions, search, asked.as_ref()))
}

/// The network as it settles if every supply can give any flow.
pub(super) fn settled(network: &Network, conditions: &Conditions) -> Result<Search, NoSolution> {
    check(network, conditions)?;
    let (live, start) = LiveNetwork::new(network, conditions);
    let mut search = Search::new(live, start);
    if !search.run()
        && let Some(failure) = search.unsettled()
    {
        return Err(failure);
    }
    match below_vacuum(&search) {
        Some(at) => Err(NoSolution::Overdrawn { at }),
        None => Ok(search),
    }
}

/// The node or the line whose P is farthest below nothing. A line that usage empties from both ends may be lowest inside.
pub(super) fn below_vacuum(search: &Search) -> Option<Piece> {
    let network = &search.live;
    let nodes = network.names.iter().map(|name| Piece::Node(*name));
    let nodes = nodes.zip(search.squared.iter().copied());
    let insides = network.laws.enumerated().filter_map(|(link, law)| {
        let Law::Line(line) = law else { return None };
        let flow = search.flows[link].flow;
        let part = line.lowest(flow)?;
        let start = search.squared[network.edges[link].from];
        Some((Piece::Link(network.links[link]), start - line.fall_to(flow, part)))
    });
    let (piece, lowest) = nodes.chain(insides).min_by(|a, b| a.1.total_cmp(&b.1))?;
    (lowest <= 0.0).then_some(piece)
}

fn largest<'v>(values: impl IntoIterator<Item = &'v f64>) -> f64 {
    // A NaN must not be passed over, as f64::max would.
    values
        .into_iter()
        .fold(0.0, |most, value| if value.abs() <= most { most } else { value.abs() })
}

pub(super) struct Search {
    pub live: LiveNetwork,
    pub equations: Equations,
    pub squared: IndexVec<LiveNode, f64>,
    start: IndexVec<LiveNode, f64>,
    /// The highest P to start from.
    highest: f64,
    soft: Softness,
    /// Flow and slopes of each link, and of each boundary, at `squared`.
    pub flows: IndexVec<LiveLink, Through>,
    pub outflows: IndexVec<BoundaryId, Outflow>,
    /// The slopes that were factored; empty before the first time.
    pub factored: IndexVec<LiveLink, Through>,
    pub factored_outflows: IndexVec<BoundaryId, Outflow>,
    /// What leaves each node, less what arrives.
    pub balance: IndexVec<LiveNode, f64>,
    step: IndexVec<LiveNode, f64>,
    /// Slope of what leaves the network at each node.
    own_slopes: IndexVec<LiveNode, f64>,
    pub effort: Effort,
}

impl Search {
    pub fn new(live: LiveNetwork, start: IndexVec<LiveNode, f64>) -> Self {
        let nodes = start.len();
        Self {
            equations: Equations::new(nodes, &live.edges),
            highest: largest(&start),
            squared: start.clone(),
            start,
            soft: Softness::NONE,
            flows: IndexVec::filled(Through::default(), live.laws.len()),
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

    /// Looks for the balance from the present pressures on. False if the pressures do not settle.
    pub fn run(&mut self) -> bool {
        if self.squared.is_empty() || self.newton(PLAIN_STEPS, false) {
            return true;
        }
        if self.newton(DAMPED_STEPS, true) || self.harden() {
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

    /// From soft devices to those that are meant, each time from where the last, softer ones have settled.
    fn harden(&mut self) -> bool {
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
            self.soft = Softness {
                open: usual * part,
                shut: part / usual,
            };
            if !self.newton(DAMPED_STEPS, true) {
                break;
            }
            part *= 0.1;
        }
        self.soft = Softness::NONE;
        self.newton(DAMPED_STEPS, true)
    }

    /// Newton steps. True once they have settled; the flows are then balanced to rounding.
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
                self.rein_in();
                for (squared, step) in self.squared.iter_mut().zip(&self.step) {
                    *squared -= step;
                }
                self.evaluate();
            }
        }
        false
    }

    /// Keeps a step within bounds. Behind a valve that is shut at the moment, usage has nothing to draw on, and the step would
    /// go to where its way back is lost in rounding; from a little below a vacuum, the valve is open again.
    fn rein_in(&mut self) {
        for (step, squared) in self.step.iter_mut().zip(&self.squared) {
            let most = self.highest + squared.abs();
            *step = step.clamp(-most, most);
        }
    }

    /// Goes along the step until the balances are better by their sum, which Newton's direction improves for a short way at
    /// least, or until it is so near the end that only rounding is left in them.
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
            *slot = law.through(self.squared[edge.from], self.squared[edge.to], self.soft);
            self.balance[edge.from] += slot.flow;
            self.balance[edge.to] -= slot.flow;
        }
        for ((node, boundary), slot) in self.live.boundaries.iter().zip(&mut self.outflows) {
            *slot = boundary.out(self.squared[*node], self.soft);
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

    /// Takes in the slopes of the present pressures. False if the equations have no single answer.
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

    /// The Newton step for the present balances, by the factored slopes.
    fn direction(&mut self) {
        self.step.clone_from(&self.balance);
        self.equations.solve(&mut self.step);
    }

    /// The changes of P that make up some balances, by the slopes that were factored last.
    pub fn answer_to(&mut self, balance: &IndexVec<LiveNode, f64>) -> &IndexVec<LiveNode, f64> {
        self.step.clone_from(balance);
        self.equations.solve(&mut self.step);
        &self.step
    }

    /// Moves pressures *and flows* by the last steps. Flows worked out from differences of nearly equal P would balance to
    /// their rounding only; carried along by their own changes they balance to that of the flows.
    ///
    /// False, and evaluated anew, if the laws would not have it: the smallest step can lead past a point where a valve
    /// shuts, and carry on beside it what only an open valve would pass.
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

    /// True if each flow is what its law makes of the pressures, but for a billionth of the largest flow and the rounding of P.
    fn is_lawful(&self) -> bool {
        let links = self.flows.iter().map(|through| through.flow.abs());
        let boundaries = self.outflows.iter().map(|outflow| outflow.flow.abs());
        let part = 1e-9 * links.chain(boundaries).fold(0.0, f64::max);
        let rounding = 8.0 * f64::EPSILON * self.highest.max(largest(&self.squared));
        self.live.laws.enumerated().all(|(link, law)| {
            let (found, factored, edge) = (self.flows[link], self.factored[link], self.live.edges[link]);
            let now = law.through(self.squared[edge.from], self.squared[edge.to], self.soft);
            let steepest = now.before.max(now.behind).max(factored.before).max(factored.behind);
            (now.flow - found.flow).abs() <= part + steepest * rounding
        }) && self.live.boundaries.enumerated().all(|(id, (node, boundary))| {
            let now = boundary.out(self.squared[*node], self.soft);
            let steepest = now.slope.max(self.factored_outflows[id].slope);
            (now.flow - self.outflows[id].flow).abs() <= part + steepest * rounding
        })
    }

    /// One nonlinear Gauss–Seidel sweep: each node in turn is brought into balance with the present pressures of its neighbours.
    fn sweep(&mut self, neighbours: &Neighbours<LiveNode, LiveLink>, boundaries: &IndexVec<LiveNode, Vec<Boundary>>) {
        self.effort.sweeps += 1;
        for (node, boundaries) in boundaries.enumerated() {
            let links = neighbours.of(node);
            let (live, squared) = (&self.live, &self.squared);
            // What leaves the node at this P: it rises with P.
            let balance = |here: f64| {
                let mut sum = live.demand[node];
                for &(link, forwards) in links {
                    let (law, edge) = (&live.laws[link], live.edges[link]);
                    if edge.from == edge.to {
                        continue;
                    }
                    sum += if forwards {
                        law.through(here, squared[edge.to], Softness::NONE).flow
                    } else {
                        -law.through(squared[edge.from], here, Softness::NONE).flow
                    };
                }
                for boundary in boundaries {
                    sum += boundary.out(here, Softness::NONE).flow;
                }
                sum
            };
            let found = zero(balance, squared[node]);
            self.squared[node] = found;
        }
    }

    /// The failure at the node that is farthest out of balance. A network without nodes cannot fail.
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
