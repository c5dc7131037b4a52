//! Newton on P = p², and what stands behind it.

use std::collections::VecDeque;

use super::laws::{End, Law, Through, flow};
use super::linear::{Edge, Equations};
use super::solution::{Effort, Solution};
use super::{Conditions, Leak, LeakId, Link, LinkId, Network, NoSolution, NodeId, Piece, SupplyId};

/// Newton steps taken at full length before any doubt.
const PLAIN_STEPS: u32 = 25;
/// Rounds of Gauss–Seidel sweeps and damped Newton steps after that.
const ROUNDS: u32 = 40;
const SWEEPS: u32 = 8;
const DAMPED_STEPS: u32 = 12;
/// A step is nothing if it moves no P by more than this part of the highest.
const STEP_ENDS: f64 = 1e-10;
/// Slopes that moved less than this since they were factored are good enough for a last step.
const SLOPES_HOLD: f64 = 0.1;
/// No dead node has a place among the unknowns.
pub(super) const DEAD: u32 = u32::MAX;

/// Computes the pressures and flows of a network.
///
/// The cost grows about in line with the number of nodes. Nodes that no air can reach are not a failure: they are
/// reported as dead, and what is used or lost there counts for nothing.
///
/// # Errors
///
/// [`NoSolution`] if a figure is impossible, if more is used than the lines can bring, or if the computation does not
/// settle.
pub fn solve(network: &Network, conditions: &Conditions) -> Result<Solution, NoSolution> {
    check(network, conditions)?;
    let (system, start) = System::new(network, conditions);
    let mut search = Search::new(&system, start).ok_or_else(|| system.unsettled(0, 0.0, 0))?;
    let settled = search.run();
    if !settled {
        let (node, imbalance) = search.worst();
        return Err(system.unsettled(node, imbalance, search.effort.newton));
    }
    let lowest = (0_u32..).zip(&search.squared).min_by(|a, b| a.1.total_cmp(b.1));
    if let Some((node, &squared)) = lowest
        && squared <= 0.0
    {
        return Err(NoSolution::Overdrawn { at: system.name(node) });
    }
    let Search {
        squared, flows, ends, effort, ..
    } = search;
    Ok(Solution::new(network, conditions, system, squared, &flows, &ends, effort))
}

fn check(network: &Network, conditions: &Conditions) -> Result<(), NoSolution> {
    let refuse = |piece, why| Err(NoSolution::Impossible { piece, why });
    let ambient = conditions.ambient.pascals();
    if !(ambient.is_finite() && ambient > 0.0) {
        return refuse(Piece::Conditions, "the pressure of the surrounding air is no pressure above vacuum");
    }
    let kelvins = conditions.temperature.kelvins();
    if !(100.0..1000.0).contains(&kelvins) {
        return refuse(Piece::Conditions, "the air's temperature lies outside what its viscosity is known for");
    }
    let absolute = |gauge: crate::measure::Pressure| {
        let pressure = ambient + gauge.pascals();
        pressure > 0.0 && pressure < 1e9
    };
    for (id, node) in (0_u32..).map(NodeId).zip(&network.nodes) {
        if !(node.demand >= 0.0 && node.demand < 1e6) {
            return refuse(Piece::Node(id), "a usage is less than nothing, or no number");
        }
        if !node.held.is_none_or(absolute) {
            return refuse(Piece::Node(id), "a held pressure is no pressure above vacuum");
        }
    }
    for (id, (at, supply)) in (0_u32..).map(SupplyId).zip(&network.supplies) {
        if at.index() >= network.nodes.len() {
            return refuse(Piece::Supply(id), "a supply stands at no node of this network");
        }
        if !absolute(supply.delivers) {
            return refuse(Piece::Supply(id), "a supply delivers no pressure above vacuum");
        }
    }
    for (id, (at, leak)) in (0_u32..).map(LeakId).zip(&network.leaks) {
        if at.index() >= network.nodes.len() {
            return refuse(Piece::Leak(id), "a leak is at no node of this network");
        }
        let fits = match leak {
            Leak::Laminar { resistance } => positive(resistance.pascal_seconds_per_m3()),
            Leak::Orifice { hole, coefficient } => {
                positive(hole.metres()) && hole.metres() < 10.0 && positive(*coefficient) && *coefficient <= 1.0
            }
        };
        if !fits {
            return refuse(Piece::Leak(id), "a leak's size is not above zero, or its coefficient not between 0 and 1");
        }
    }
    for (id, (from, to, link)) in (0_u32..).map(LinkId).zip(&network.links) {
        if from.index().max(to.index()) >= network.nodes.len() {
            return refuse(Piece::Link(id), "a link ends at no node of this network");
        }
        if let Some(why) = objection(link, absolute) {
            return refuse(Piece::Link(id), why);
        }
    }
    Ok(())
}

fn positive(figure: f64) -> bool {
    figure.is_finite() && figure > 0.0
}

fn within(figure: f64, most: f64) -> bool {
    (0.0..=most).contains(&figure)
}

fn objection(link: &Link, absolute: impl Fn(crate::measure::Pressure) -> bool) -> Option<&'static str> {
    const LENGTH: &str = "a length is less than nothing, or beyond any route";
    const USAGE: &str = "a usage is less than nothing, or no number";
    match link {
        Link::Tube(tube) => {
            let bore = tube.bore.metres();
            if !(1e-5..=10.0).contains(&bore) {
                Some("a bore is not between 0.01 mm and 10 m")
            } else if !within(tube.length.metres(), 1e7) {
                Some(LENGTH)
            } else if !within(tube.roughness.metres(), bore / 10.0) {
                Some("a tube's roughness is less than nothing or more than a tenth of its bore")
            } else if !within(tube.usage.cubic_metres_per_second(), 1e6) {
                Some(USAGE)
            } else {
                None
            }
        }
        Link::Section(section) => {
            if !within(section.resistance.pascal_seconds_per_m4(), 1e18) {
                Some("a pneumatic resistance is less than nothing, or no number")
            } else if !(positive(section.reference.pressure.pascals())
                && (100.0..1000.0).contains(&section.reference.temperature.kelvins()))
            {
                Some("a pneumatic resistance is counted at a pressure or a temperature that cannot be")
            } else if !within(section.length.metres(), 1e7) {
                Some(LENGTH)
            } else if !within(section.usage.cubic_metres_per_second(), 1e6) {
                Some(USAGE)
            } else {
                None
            }
        }
        Link::Regulator(regulator) => {
            if !absolute(regulator.set) {
                Some("a regulator is set to no pressure above vacuum")
            } else if !within(regulator.droop.pascal_seconds_per_m3(), 1e15) {
                Some("a regulator's droop is less than nothing, or no number")
            } else if !within(regulator.differential.pascals(), 1e9) {
                Some("a regulator's least differential is less than nothing, or no number")
            } else if !regulator.rated.is_none_or(|rated| positive(rated.cubic_metres_per_second())) {
                Some("a regulator's greatest flow is not above zero")
            } else {
                None
            }
        }
        Link::CheckValve | Link::Fitting => None,
    }
}

/// The part of a network that air can reach, numbered anew.
pub(super) struct System {
    /// Of each node of the network: its number here, or [`DEAD`].
    pub place: Vec<u32>,
    /// The network's node behind each number.
    pub names: Vec<NodeId>,
    pub laws: Vec<Law>,
    pub edges: Vec<Edge>,
    /// The network's link behind each law.
    pub links: Vec<LinkId>,
    pub ends: Vec<(u32, End)>,
    /// Air used at each node whatever its pressure, with half of what is used along each line that ends there.
    pub demand: Vec<f64>,
}

impl System {
    /// The system, and pressures to start from: those of the supplies, handed on from node to node and held down by regulators.
    fn new(network: &Network, conditions: &Conditions) -> (Self, Vec<f64>) {
        let all = network.nodes.len();
        let squared = |gauge: crate::measure::Pressure| (conditions.ambient + gauge).pascals().powi(2);
        let mut seed = vec![f64::NAN; all];
        let mut queue = VecDeque::new();
        for (at, supply) in &network.supplies {
            if let Some(slot) = seed.get_mut(at.index()) {
                *slot = slot.max(squared(supply.delivers));
                queue.push_back(at.0);
            }
        }
        for (id, node) in (0_u32..).zip(&network.nodes) {
            if let (Some(gauge), Some(slot)) = (node.held, seed.get_mut(id as usize)) {
                *slot = squared(gauge);
                queue.push_back(id);
            }
        }
        let laws: Vec<Law> = network.links.iter().map(|(_, _, link)| Law::new(link, conditions)).collect();
        let next = Neighbours::new(all, network.links.iter().map(|(from, to, _)| Edge { from: from.0, to: to.0 }));
        while let Some(node) = queue.pop_front() {
            let here = seed.get(node as usize).copied().unwrap_or(f64::NAN);
            for &(number, forwards) in next.of(node) {
                let (Some((from, to, _)), Some(law)) =
                    (network.links.get(number as usize), laws.get(number as usize))
                else {
                    continue;
                };
                if !forwards && !law.both_ways() {
                    continue;
                }
                let there = if forwards { to } else { from };
                if let Some(slot) = seed.get_mut(there.index())
                    && slot.is_nan()
                {
                    *slot = match law {
                        Law::Regulator(valve) => here.min(valve.set * valve.set),
                        Law::Line(_) | Law::CheckValve | Law::Fitting => here,
                    };
                    queue.push_back(there.0);
                }
            }
        }
        Self::of_living(network, conditions, laws, &seed)
    }

    fn of_living(network: &Network, conditions: &Conditions, laws: Vec<Law>, seed: &[f64]) -> (Self, Vec<f64>) {
        let all = network.nodes.len();
        let mut place = vec![DEAD; all];
        let (mut names, mut start, mut demand) =
            (Vec::with_capacity(all), Vec::with_capacity(all), Vec::with_capacity(all));
        let mut ends = Vec::with_capacity(network.supplies.len() + network.leaks.len());
        for (((id, slot), node), &seed) in (0_u32..).map(NodeId).zip(&mut place).zip(&network.nodes).zip(seed) {
            if seed.is_nan() {
                continue;
            }
            let here = names.len() as u32;
            *slot = here;
            names.push(id);
            start.push(seed);
            demand.push(node.demand);
            if let Some(gauge) = node.held {
                ends.push((here, End::held(gauge, conditions)));
            }
        }
        let find = |node: NodeId| place.get(node.index()).copied().unwrap_or(DEAD);
        for (at, supply) in &network.supplies {
            ends.push((find(*at), End::supply(supply, conditions)));
        }
        for (at, leak) in &network.leaks {
            if find(*at) != DEAD {
                ends.push((find(*at), End::leak(leak, conditions)));
            }
        }
        let mut kept = Vec::with_capacity(laws.len());
        let (mut edges, mut links) = (Vec::with_capacity(laws.len()), Vec::with_capacity(laws.len()));
        for ((id, (from, to, _)), law) in (0_u32..).map(LinkId).zip(&network.links).zip(laws) {
            let (from, to) = (find(*from), find(*to));
            if from == DEAD || to == DEAD {
                continue;
            }
            for end in [from, to] {
                if let Some(demand) = demand.get_mut(end as usize) {
                    *demand += law.usage() / 2.0;
                }
            }
            kept.push(law);
            edges.push(Edge { from, to });
            links.push(id);
        }
        let system = Self {
            place,
            names,
            laws: kept,
            edges,
            links,
            ends,
            demand,
        };
        (system, start)
    }

    fn name(&self, node: u32) -> NodeId {
        self.names.get(node as usize).copied().unwrap_or(NodeId(0))
    }

    fn unsettled(&self, node: u32, imbalance: f64, steps: u32) -> NoSolution {
        NoSolution::Unsettled {
            at: self.name(node),
            imbalance: flow(imbalance),
            steps,
        }
    }
}

/// Which links hang on each node, one list after the other.
struct Neighbours {
    starts: Vec<u32>,
    /// Number of the link, and whether it leads away along its arrow.
    links: Vec<(u32, bool)>,
}

impl Neighbours {
    fn new(nodes: usize, edges: impl Iterator<Item = Edge> + Clone) -> Self {
        let mut starts = vec![0_u32; nodes + 1];
        for edge in edges.clone() {
            for end in [edge.from, edge.to] {
                if let Some(count) = starts.get_mut(end as usize) {
                    *count += 1;
                }
            }
        }
        let mut sum = 0;
        for count in &mut starts {
            sum += *count;
            *count = sum;
        }
        // Filled from the back: each start moves down to the beginning of its list.
        let mut links = vec![(0, false); sum as usize];
        for (number, edge) in (0_u32..).zip(edges) {
            for (end, forwards) in [(edge.from, true), (edge.to, false)] {
                if let Some(start) = starts.get_mut(end as usize) {
                    *start -= 1;
                    if let Some(slot) = links.get_mut(*start as usize) {
                        *slot = (number, forwards);
                    }
                }
            }
        }
        Self { starts, links }
    }

    fn of(&self, node: u32) -> &[(u32, bool)] {
        let node = node as usize;
        match (self.starts.get(node), self.starts.get(node + 1)) {
            (Some(&start), Some(&end)) => self.links.get(start as usize..end as usize).unwrap_or_default(),
            _ => &[],
        }
    }
}

fn at(values: &[f64], index: u32) -> f64 {
    values.get(index as usize).copied().unwrap_or_default()
}

fn add(values: &mut [f64], index: u32, more: f64) {
    if let Some(value) = values.get_mut(index as usize) {
        *value += more;
    }
}

fn largest(values: &[f64]) -> f64 {
    // A NaN must not be passed over, as f64::max would.
    values.iter().fold(0.0, |most, value| if value.abs() <= most { most } else { value.abs() })
}

struct Search<'a> {
    system: &'a System,
    equations: Equations,
    squared: Vec<f64>,
    /// Flow and slopes of each link, and of each end, at `squared`.
    flows: Vec<Through>,
    ends: Vec<(f64, f64)>,
    /// The slopes that were factored.
    factored: Vec<Through>,
    factored_ends: Vec<(f64, f64)>,
    /// What leaves each node, less what arrives.
    balance: Vec<f64>,
    step: Vec<f64>,
    scratch: Vec<f64>,
    effort: Effort,
}

impl<'a> Search<'a> {
    fn new(system: &'a System, start: Vec<f64>) -> Option<Self> {
        let nodes = start.len();
        Some(Self {
            system,
            equations: Equations::new(nodes, &system.edges)?,
            squared: start,
            flows: vec![Through::default(); system.laws.len()],
            ends: vec![(0.0, 0.0); system.ends.len()],
            factored: Vec::new(),
            factored_ends: Vec::new(),
            balance: vec![0.0; nodes],
            step: vec![0.0; nodes],
            scratch: Vec::new(),
            effort: Effort::default(),
        })
    }

    fn run(&mut self) -> bool {
        if self.squared.is_empty() || self.newton(PLAIN_STEPS, false) {
            return true;
        }
        let neighbours = Neighbours::new(self.squared.len(), self.system.edges.iter().copied());
        let mut ends_of = vec![Vec::new(); self.squared.len()];
        for (node, end) in &self.system.ends {
            if let Some(list) = ends_of.get_mut(*node as usize) {
                list.push(*end);
            }
        }
        if !self.squared.iter().all(|squared| squared.is_finite()) {
            self.squared.fill(1e10);
        }
        for _ in 0..ROUNDS {
            for _ in 0..SWEEPS {
                self.sweep(&neighbours, &ends_of);
            }
            let kept = self.squared.clone();
            if self.newton(DAMPED_STEPS, true) {
                return true;
            }
            // Damped steps are descents of Newton's own measure, so they are kept unless they have left the numbers.
            if !self.squared.iter().all(|squared| squared.is_finite()) {
                self.squared = kept;
            }
        }
        false
    }

    /// Newton steps. True once they have settled; the flows are then balanced to rounding.
    fn newton(&mut self, steps: u32, damped: bool) -> bool {
        let ends = STEP_ENDS * largest(&self.squared);
        self.evaluate();
        self.factored.clear();
        for _ in 0..steps {
            if self.slopes_hold() {
                self.direction();
                if largest(&self.step) <= ends {
                    self.finish();
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
                self.finish();
                return true;
            }
            if damped {
                self.shorten(size);
            } else {
                for (squared, step) in self.squared.iter_mut().zip(&self.step) {
                    *squared -= step;
                }
                self.evaluate();
            }
        }
        false
    }

    /// Goes along the step as far as Newton's own measure of the distance falls (the natural monotonicity test, Deuflhard,
    /// from memory).
    fn shorten(&mut self, size: f64) {
        let (from, direction) = (self.squared.clone(), self.step.clone());
        let mut part = 1.0;
        loop {
            for ((squared, from), step) in self.squared.iter_mut().zip(&from).zip(&direction) {
                *squared = from - part * step;
            }
            self.evaluate();
            self.direction();
            if largest(&self.step) <= (1.0 - part / 4.0) * size || part < 0.01 {
                return;
            }
            part /= 2.0;
        }
    }

    fn evaluate(&mut self) {
        self.balance.copy_from_slice(&self.system.demand);
        for ((law, edge), slot) in self.system.laws.iter().zip(&self.system.edges).zip(&mut self.flows) {
            *slot = law.through(at(&self.squared, edge.from), at(&self.squared, edge.to));
            add(&mut self.balance, edge.from, slot.flow);
            add(&mut self.balance, edge.to, -slot.flow);
        }
        for ((node, end), slot) in self.system.ends.iter().zip(&mut self.ends) {
            *slot = end.out(at(&self.squared, *node));
            add(&mut self.balance, *node, slot.0);
        }
    }

    fn slopes_hold(&self) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() <= SLOPES_HOLD * b;
        self.factored.len() == self.flows.len()
            && self.factored_ends.len() == self.ends.len()
            && self.effort.newton > 0
            && self.flows.iter().zip(&self.factored).all(|(a, b)| near(a.before, b.before) && near(a.behind, b.behind))
            && self.ends.iter().zip(&self.factored_ends).all(|(a, b)| near(a.1, b.1))
    }

    fn factor(&mut self) -> bool {
        self.factored.clone_from(&self.flows);
        self.factored_ends.clone_from(&self.ends);
        self.scratch.clear();
        self.scratch.resize(self.squared.len(), 0.0);
        for ((node, _), (_, slope)) in self.system.ends.iter().zip(&self.ends) {
            add(&mut self.scratch, *node, *slope);
        }
        self.equations.factor(&self.system.edges, &self.factored, &self.scratch)
    }

    /// The Newton step for the present balances, by the factored slopes.
    fn direction(&mut self) {
        self.step.copy_from_slice(&self.balance);
        self.equations.solve(&mut self.step, &mut self.scratch);
    }

    /// Moves pressures *and flows* by the last steps. Flows worked out from differences of nearly equal P would balance to
    /// their rounding only; carried along by their own changes they balance to that of the flows.
    fn finish(&mut self) {
        for _ in 0..3 {
            for (squared, step) in self.squared.iter_mut().zip(&self.step) {
                *squared -= step;
            }
            self.balance.copy_from_slice(&self.system.demand);
            for ((flow, slope), edge) in self.flows.iter_mut().zip(&self.factored).zip(&self.system.edges) {
                flow.flow -= slope.before * at(&self.step, edge.from) - slope.behind * at(&self.step, edge.to);
                add(&mut self.balance, edge.from, flow.flow);
                add(&mut self.balance, edge.to, -flow.flow);
            }
            for ((flow, (_, slope)), (node, _)) in
                self.ends.iter_mut().zip(&self.factored_ends).zip(&self.system.ends)
            {
                flow.0 -= slope * at(&self.step, *node);
                add(&mut self.balance, *node, flow.0);
            }
            self.direction();
        }
    }

    /// One nonlinear Gauss–Seidel sweep: each node in turn is brought into balance with its neighbours as they stand.
    fn sweep(&mut self, neighbours: &Neighbours, ends: &[Vec<End>]) {
        self.effort.sweeps += 1;
        for (node, ends) in (0_u32..).zip(ends) {
            let links = neighbours.of(node);
            let system = self.system;
            let squared = &self.squared;
            // What leaves the node at this P: it rises with P.
            let balance = |here: f64| {
                let mut sum = at(&system.demand, node);
                for &(number, forwards) in links {
                    let (Some(law), Some(edge)) =
                        (system.laws.get(number as usize), system.edges.get(number as usize))
                    else {
                        continue;
                    };
                    if edge.from == edge.to {
                        continue;
                    }
                    sum += if forwards {
                        law.through(here, at(squared, edge.to)).flow
                    } else {
                        -law.through(at(squared, edge.from), here).flow
                    };
                }
                for end in ends {
                    sum += end.out(here).0;
                }
                sum
            };
            let found = zero(balance, at(squared, node));
            if let Some(slot) = self.squared.get_mut(node as usize) {
                *slot = found;
            }
        }
    }

    /// The node farthest out of balance, and by how much.
    fn worst(&self) -> (u32, f64) {
        let far = (0_u32..).zip(&self.balance).max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
        far.map_or((0, 0.0), |(node, balance)| (node, *balance))
    }
}

/// Where a rising function is zero: bounds are widened from `start` until they hold it, then halved. Where it is flat at zero,
/// the place nearest to `start`.
fn zero(rising: impl Fn(f64) -> f64, start: f64) -> f64 {
    let there = rising(start);
    if there == 0.0 || !there.is_finite() {
        return start;
    }
    let towards = -there.signum();
    let (mut near, mut far) = (start, start);
    let mut width = start.abs() * 1e-6 + 1.0;
    for _ in 0..80 {
        far = near + towards * width;
        let value = rising(far);
        if value == 0.0 {
            return far;
        }
        if value.signum() == towards {
            break;
        }
        near = far;
        width *= 4.0;
        if width > 1e18 {
            return start;
        }
    }
    for _ in 0..70 {
        let middle = f64::midpoint(near, far);
        if rising(middle).signum() == towards {
            far = middle;
        } else {
            near = middle;
        }
    }
    f64::midpoint(near, far)
}
