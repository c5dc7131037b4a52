//! Pressures of a network over time, after a change.
//!
//! Volumes store c·V·p of air, with c = T₀/(p₀·T), in the same measure as flows. The balance of a node with a volume is
//! d(c·V·p)/dt = inflow − outflow; without a volume the left side is nearly zero. So each time step is a problem as in
//! [`solve`](super::solve), with one more boundary at each volume that takes in more the higher the pressure, and
//! Newton's method solves both.
//!
//! # The method
//!
//! The equations are stiff: a manifold balances within milliseconds, a cable within hours. They are advanced by the
//! trapezoidal rule and the second backward difference formula in turn (TR-BDF2: Bank and others, *Transient simulation
//! of silicon devices and circuits*, 1985; error estimate by Hosea and Shampine, 1996; from memory), which is L-stable
//! and of second order. The estimate is filtered by Newton's matrix, so that fast modes that have decayed do not
//! shorten the steps. Nearly instantaneous changes at the start are handled by a first, very short step of the backward
//! Euler method.
//!
//! No supply delivers more than its capacity: beyond it, its pressure falls.

use super::laws::{Boundary, FlowAndSlopes, Stored, pressure};
use super::live::{BoundaryId, Edge, LiveLink, LiveNetwork, LiveNode};
use super::solver::NewtonSolver;
use super::{Conditions, Network, NetworkElement, NoSolution, NodeId, SupplyId, check};
use crate::index::IndexVec;
use crate::measure::{AbsolutePressure, Flow, Length, Pressure, Time, Volume};
use crate::network::laws::Law;
use crate::network::{LinkId, laws};
use crate::standard::StandardConditions;

/// End of the trapezoidal part of a step, as a fraction of the step: 2 − √2.
const MIDDLE: f64 = 2.0 - std::f64::consts::SQRT_2;
/// Weight of the slope at the end of either part: 1 − 1/√2.
const WEIGHT: f64 = MIDDLE / 2.0;
/// Weight of the slopes at the beginning and in the middle in the second part: √2/4.
const BEFORE: f64 = std::f64::consts::SQRT_2 / 4.0;
/// Coefficient of the third derivative in the error of a step.
const ERROR: f64 = (3.0 * MIDDLE * MIDDLE - 4.0 * MIDDLE + 2.0) / (12.0 * (2.0 - MIDDLE));
/// Permitted error of any pressure in one step, Pa: some ten-thousandths of a psi.
const TOLERANCE: f64 = 2.0;
/// Length of the first step, s.
const FIRST: f64 = 0.01;
/// Lengths of the first step where no volume is declared, s: what [`LEAST_VOLUME`] gives off in the first of them is less than a flow sensor
/// could read. The others are for networks that do not settle with so little.
const FIRST_WITHOUT_VOLUME: [f64; 3] = [100.0, 1.0, FIRST];
/// Step length above which a shorter step is tried at once where Newton's method does not converge, s.
const EASIER_SHORTER: f64 = FIRST;
/// Step length below which the computation is given up, s.
const SHORTEST: f64 = 1e-6;
/// Volume added at every node, m³: a tenth of a cubic centimetre. Without it the pressure would be undetermined where
/// no air flows any more, as between a stopped dryer and its regulator.
const LEAST_VOLUME: f64 = 1e-7;
/// Maximum number of time steps.
const STEPS: usize = 20_000;

/// How long a step may be in which a regulator or valve changes over, as a part of the time that has passed, and in seconds at least. Between the
/// moments that are computed, a figure that takes a turn there would be read off a curve that does not.
const SWITCHING_STEP: (f64, f64) = (2e-3, 0.5);
/// Less flow than counts for that, m³/s: a thousandth of a cubic foot an hour.
const TRACE: f64 = 1e-8;

/// A volume at a node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StoredVolume {
    /// Node that the volume is connected to.
    pub at: NodeId,
    /// Size of the volume.
    pub volume: Volume,
}

/// A pressure that a node should not fall below.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PressureFloor {
    /// Node whose pressure is checked.
    pub at: NodeId,
    /// Gauge pressure that it should not fall below.
    pub least: Pressure,
}

/// The pressures and flows of a network over time.
pub struct Transient {
    conditions: Conditions,
    nodes: IndexVec<NodeId, Option<LiveNode>>,
    links: IndexVec<LinkId, Option<LiveLink>>,
    laws: IndexVec<LiveLink, Law>,
    edges: IndexVec<LiveLink, Edge>,
    /// The start, then the middle and the end of each step.
    moments: Vec<TransientState>,
    /// Time at which each supply had delivered its whole content, s.
    emptied: IndexVec<SupplyId, Option<f64>>,
    /// Index of the floor that was passed first, and the time, s.
    fell: Option<(usize, f64)>,
}

/// The state of the network at one time.
struct TransientState {
    seconds: f64,
    squared: IndexVec<LiveNode, f64>,
    flows: IndexVec<LiveLink, f64>,
}

/// Initial state of the network and duration of the computation.
#[derive(Clone, Copy, Debug)]
pub struct TransientInputs<'a> {
    /// Pressures before the change. Nodes without a volume need only a guess; those without a pressure are left out.
    pub start: &'a IndexVec<NodeId, Option<AbsolutePressure>>,
    /// Volumes that store air.
    pub stores: &'a [StoredVolume],
    /// Content of supplies that can run empty, in the same measure as flows.
    pub contents: &'a [(SupplyId, Volume)],
    /// Floors: the computation stops as soon as a node is below its floor.
    pub floors: &'a [PressureFloor],
    /// Duration of the computation.
    pub time: Time,
}

impl Transient {
    /// Computes the pressures of a network over time, from those before the change.
    ///
    /// # Errors
    ///
    /// [`NoSolution`] if a figure is impossible, or if a time step does not converge.
    pub fn new(network: &Network, conditions: &Conditions, inputs: &TransientInputs<'_>) -> Result<Self, NoSolution> {
        check::check(network, conditions)?;
        if !(inputs.time.seconds() >= 0.0 && inputs.time.seconds().is_finite()) {
            return Err(NoSolution::Impossible {
                piece: NetworkElement::Conditions,
                why: "the time is less than nothing, or no number",
            });
        }
        let squares = inputs.start.iter();
        let squares = squares.map(|start| start.map(|start| start.pascals() * start.pascals()));
        let (mut live, start) = LiveNetwork::starting_from(network, conditions, &squares.collect());
        for supply in network.supplies.keys() {
            live.limit(network, supply);
        }
        let stored = stored(&mut live, &start, inputs.stores, conditions)?;
        let mut links = IndexVec::filled(None, network.links());
        for (here, id) in live.links.enumerated() {
            links[*id] = Some(here);
        }
        let supplies = network.supplies.len();
        let mut contents = IndexVec::filled(f64::INFINITY, supplies);
        for (supply, content) in inputs.contents {
            contents[*supply] = content.cubic_metres();
        }
        let (nodes, laws, edges) = (live.nodes.clone(), live.laws.clone(), live.edges.clone());
        let floors = inputs.floors.iter().enumerate();
        let floors = floors.filter_map(|(at, floor)| {
            let least = (conditions.ambient + floor.least).pascals();
            Some((at, nodes[floor.at]?, least))
        });
        let floors = floors.collect();
        let mut run = Integration {
            solver: NewtonSolver::new(live, start),
            stored,
            slopes: Vec::new(),
            stands: Vec::new(),
            content: contents,
            given: IndexVec::filled(0.0, supplies),
            floors,
            seconds: 0.0,
            transient: Self {
                conditions: *conditions,
                nodes,
                links,
                laws,
                edges,
                moments: Vec::new(),
                emptied: IndexVec::filled(None, supplies),
                fell: None,
            },
        };
        run.follow(inputs.time.seconds())?;
        Ok(run.transient)
    }

    /// The time up to which it was computed.
    pub fn end(&self) -> Time {
        Time::from_seconds(self.moments.last().map_or(0.0, |last| last.seconds))
    }

    /// Index of the floor that was passed first, and the time. A pressure that was below its floor from the start is
    /// not included.
    pub fn fell(&self) -> Option<(usize, Time)> {
        self.fell.map(|(floor, seconds)| (floor, Time::from_seconds(seconds)))
    }

    /// The time at which a supply had delivered its whole content.
    pub fn emptied(&self, supply: SupplyId) -> Option<Time> {
        self.emptied[supply].map(Time::from_seconds)
    }

    /// Gauge pressure at a node at a time. `None` if it had no pressure at the start.
    pub fn gauge(&self, node: NodeId, time: Time) -> Option<Pressure> {
        let live = self.nodes[node]?;
        let squared = self.at(time, |moment| moment.squared[live])?;
        Some(pressure(squared) - self.conditions.ambient)
    }

    /// Flow in the direction of a link's arrow at a time; for a line the flow past its middle, without its loss.
    pub fn flow(&self, link: LinkId, time: Time) -> Option<Flow> {
        let live = self.links[link]?;
        self.at(time, |moment| moment.flows[live]).map(laws::flow)
    }

    /// Gauge pressure inside a tube or section at a time, at a distance from its start, assuming a steady state between
    /// its ends.
    pub fn profile(&self, link: LinkId, from_start: Length, time: Time) -> Option<Pressure> {
        let live = self.links[link]?;
        let (law, edge) = (&self.laws[live], self.edges[live]);
        let part = law.part(from_start)?;
        let at = |node: LiveNode| self.at(time, |moment| moment.squared[node]);
        // Most places that are asked for are ends of pieces, within rounding.
        let squared = if part < 1e-9 {
            at(edge.from)?
        } else if part > 1.0 - 1e-9 {
            at(edge.to)?
        } else {
            let (near, far) = (at(edge.from)?, at(edge.to)?);
            match law {
                Law::Leaking(leaking) => leaking.at(near, far, part).0,
                _ => near + (far - near) * part,
            }
        };
        Some(pressure(squared) - self.conditions.ambient)
    }

    /// The first time at which `figure` is positive.
    pub fn first(&self, figure: impl Fn(Time) -> Option<f64>) -> Option<Time> {
        let is_above = |seconds: f64| figure(Time::from_seconds(seconds)).is_some_and(|figure| figure > 0.0);
        let mut before = 0.0;
        if is_above(before) {
            return Some(Time::from_seconds(before));
        }
        // Between two moments a figure only goes from the one to the other: see `parabola`.
        for moment in self.moments.iter().skip(1) {
            if is_above(moment.seconds) {
                return Some(Time::from_seconds(turn(before, moment.seconds, is_above)));
            }
            before = moment.seconds;
        }
        None
    }

    /// A figure of the network at a time, interpolated between the computed moments.
    fn at(&self, time: Time, figure: impl Fn(&TransientState) -> f64) -> Option<f64> {
        let seconds = time.seconds();
        // A step has three moments: the end of the previous step, its middle and its end.
        let step = self
            .moments
            .partition_point(|moment| moment.seconds < seconds)
            .saturating_sub(1)
            / 2;
        match self.moments.get(2 * step..2 * step + 3) {
            Some([from, middle, to]) => Some(parabola(
                [from, middle, to].map(|moment| (moment.seconds, figure(moment))),
                seconds,
            )),
            _ => self.moments.last().map(figure),
        }
    }
}

/// The parabola through three points at a position, limited to the values of the two adjacent points.
fn parabola([from, middle, to]: [(f64, f64); 3], at: f64) -> f64 {
    let at = at.clamp(from.0, to.0);
    let slope = |one: (f64, f64), two: (f64, f64)| (two.1 - one.1) / (two.0 - one.0);
    let (first, second) = (slope(from, middle), slope(middle, to));
    let found = from.1 + (at - from.0) * (first + (at - middle.0) * (second - first) / (to.0 - from.0));
    let (one, other) = if at < middle.0 {
        (from.1, middle.1)
    } else {
        (middle.1, to.1)
    };
    found.clamp(one.min(other), one.max(other))
}

/// The time at which a condition becomes true, by bisection between a time when it is false and one when it is true.
fn turn(mut before: f64, mut after: f64, is_so: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..40 {
        let middle = f64::midpoint(before, after);
        if is_so(middle) {
            after = middle;
        } else {
            before = middle;
        }
    }
    after
}

/// A volume in the live network.
struct Held {
    node: LiveNode,
    boundary: BoundaryId,
    capacity: f64,
    /// Whether it is a declared volume rather than the minimum added at every node, so that its pressure must be
    /// followed closely.
    is_volume: bool,
}

/// Adds the volumes to a live network.
fn stored(
    live: &mut LiveNetwork,
    start: &IndexVec<LiveNode, f64>,
    stores: &[StoredVolume],
    conditions: &Conditions,
) -> Result<Vec<Held>, NoSolution> {
    let base = StandardConditions::BASE;
    let each = base.temperature().kelvins() / (base.pressure().pascals() * conditions.temperature.kelvins());
    let least = LEAST_VOLUME * each;
    let mut capacities: IndexVec<LiveNode, f64> = IndexVec::filled(least, start.len());
    for StoredVolume { at, volume } in stores {
        let volume = volume.cubic_metres();
        if !(0.0..1e6).contains(&volume) {
            return Err(NoSolution::Impossible {
                piece: NetworkElement::Node(*at),
                why: "a volume is less than nothing, or no number",
            });
        }
        if let Some(node) = live.nodes[*at] {
            capacities[node] += volume * each;
        }
    }
    // Nodes open to the surrounding air take its pressure at once.
    for (node, boundary) in &live.boundaries {
        if matches!(boundary, Boundary::Held { .. }) {
            capacities[*node] = 0.0;
        }
    }
    let mut held = Vec::new();
    for (node, capacity) in capacities.enumerated().filter(|(_, capacity)| **capacity > 0.0) {
        let before = capacity * start[node].sqrt();
        let filling = Stored {
            capacity: *capacity,
            before,
            rate: FIRST.recip(),
        };
        let boundary = live.boundaries.push((node, Boundary::Stored(filling)));
        held.push(Held {
            node,
            boundary,
            capacity: *capacity,
            is_volume: *capacity > least,
        });
    }
    Ok(held)
}

/// How a regulator or something that air passes one way only stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum DevicePosition {
    Shut,
    Passing,
    /// Of a regulator whose supply sets what passes.
    WideOpen,
}

/// A network while it is followed.
struct Integration {
    solver: NewtonSolver,
    stored: Vec<Held>,
    /// Rate at which each volume fills at the end of the last step, m³/s.
    slopes: Vec<f64>,
    /// Content of each supply, and the amount delivered so far.
    content: IndexVec<SupplyId, f64>,
    given: IndexVec<SupplyId, f64>,
    /// How each regulator and one-way piece stood at the end of the last step.
    stands: Vec<DevicePosition>,
    /// Floors by their number: the node and its least pressure, Pa.
    floors: Vec<(usize, LiveNode, f64)>,
    seconds: f64,
    transient: Transient,
}

impl Integration {
    fn follow(&mut self, end: f64) -> Result<(), NoSolution> {
        self.settle_at_once()?;
        self.check_floors();
        let mut step = 1.0;
        for _ in 0..STEPS {
            let left = end - self.seconds;
            if left <= 1e-9 * end || self.transient.fell.is_some() {
                return Ok(());
            }
            // Two steps of similar length rather than a long one and a short rest.
            let here = if step >= left { left } else { step.min(left / 2.0) };
            step = self.advance(here)?;
        }
        Err(self.unsettled())
    }

    fn unsettled(&self) -> NoSolution {
        self.solver.unsettled().unwrap_or(NoSolution::Impossible {
            piece: NetworkElement::Conditions,
            why: "there is nothing to follow",
        })
    }

    /// Makes a step so short that only nearly instantaneous changes happen, without advancing time.
    fn settle_at_once(&mut self) -> Result<(), NoSolution> {
        let content = self.contents();
        let start = self.solver.squared.clone();
        // All means are dear where none of them helps, and another length may need none.
        let is_settled = [NewtonSolver::run_near, NewtonSolver::run].iter().any(|run| {
            FIRST_WITHOUT_VOLUME.iter().any(|without_volume| {
                self.back_to(&start);
                self.set(&content, |held| {
                    if held.is_volume { FIRST } else { *without_volume }.recip()
                });
                run(&mut self.solver)
            })
        });
        if !is_settled {
            return Err(self.unsettled());
        }
        self.slopes = self.rates();
        self.stands = self.device_positions();
        // That of a later one takes the place of the end of the step before it.
        self.transient.moments.pop();
        let moment = self.moment(self.seconds);
        self.transient.moments.push(moment);
        Ok(())
    }

    /// Makes one step; returns the length of the next.
    fn advance(&mut self, step: f64) -> Result<f64, NoSolution> {
        let mut step = step;
        let start = self.solver.squared.clone();
        let content = self.contents();
        let slopes = std::mem::take(&mut self.slopes);
        let supplied = self.supplied();
        loop {
            if step < SHORTEST {
                return Err(self.unsettled());
            }
            let rate = (WEIGHT * step).recip();
            // Without a declared volume the slope is not reliable: extrapolation could go below zero.
            let carried = |held: &Held, content: f64, by: f64| if held.is_volume { content + by } else { content };
            let volumes = self.stored.iter().zip(content.iter().zip(&slopes));
            let to_middle: Vec<f64> = volumes
                .map(|(held, (content, slope))| carried(held, *content, WEIGHT * step * slope))
                .collect();
            self.set(&to_middle, |_| rate);
            if !self.run(step) {
                self.back_to(&start);
                step *= 0.25;
                continue;
            }
            let middle = self.moment(self.seconds + MIDDLE * step);
            let middle_slopes = self.rates();
            let middle_supplied = self.supplied();
            let middle_content = self.contents();
            let volumes = self.stored.iter().zip(content.iter().zip(&middle_content));
            let to_end: Vec<f64> = volumes
                .zip(slopes.iter().zip(&middle_slopes))
                .map(|((held, (content, middle)), (first, second))| {
                    let from = if held.is_volume { *content } else { *middle };
                    carried(held, from, BEFORE * step * (first + second))
                })
                .collect();
            self.set(&to_end, |_| rate);
            if !self.run(step) || self.solver.squared.iter().any(|squared| *squared <= 0.0) {
                self.back_to(&start);
                step *= 0.25;
                continue;
            }
            let end_slopes = self.rates();
            let error = self.error(step, &slopes, &middle_slopes, &end_slopes) / TOLERANCE;
            let next = step * (0.9 * error.max(1e-12).powf(-1.0 / 3.0)).clamp(0.2, 5.0);
            if error > 1.0 && step > FIRST {
                self.back_to(&start);
                step = next;
                continue;
            }
            let stands = self.device_positions();
            if stands != self.stands && step > SWITCHING_STEP.1.max(SWITCHING_STEP.0 * self.seconds) {
                self.back_to(&start);
                step *= 0.5;
                continue;
            }
            let now = self.supplied();
            let taken: IndexVec<SupplyId, f64> = supplied
                .iter()
                .zip(middle_supplied.iter().zip(&now))
                .map(|(first, (second, third))| step * (BEFORE * (first + second) + WEIGHT * third))
                .collect();
            if let Some(shorter) = self.overdraws(step, &taken) {
                self.back_to(&start);
                step = shorter;
                continue;
            }
            self.slopes = end_slopes;
            self.stands = stands;
            self.seconds += step;
            self.transient.moments.push(middle);
            let end = self.moment(self.seconds);
            self.transient.moments.push(end);
            self.check_floors();
            for (given, taken) in self.given.iter_mut().zip(&taken) {
                *given += taken;
            }
            if self.empty()? {
                return Ok(1.0);
            }
            return Ok(next);
        }
    }

    /// Solves for a step of this length. A shorter one is easier, so that only a short one is worth all means.
    fn run(&mut self, step: f64) -> bool {
        if step > EASIER_SHORTER {
            self.solver.run_near()
        } else {
            self.solver.run()
        }
    }

    fn device_positions(&self) -> Vec<DevicePosition> {
        let links = self
            .transient
            .laws
            .iter()
            .zip(&self.transient.edges)
            .zip(&self.solver.flows);
        let stand = |((law, edge), through): ((&Law, &Edge), &FlowAndSlopes)| {
            let passes = through.flow > TRACE;
            match law {
                Law::Regulator(valve) => {
                    let (near, far) = (self.solver.squared[edge.from], self.solver.squared[edge.to]);
                    Some(match (passes, valve.is_wide_open(near, far)) {
                        (false, _) => DevicePosition::Shut,
                        (true, false) => DevicePosition::Passing,
                        (true, true) => DevicePosition::WideOpen,
                    })
                }
                Law::CheckValve => Some(if passes {
                    DevicePosition::Passing
                } else {
                    DevicePosition::Shut
                }),
                Law::Loss(loss) if loss.one_way => Some(if passes {
                    DevicePosition::Passing
                } else {
                    DevicePosition::Shut
                }),
                Law::Line(_) | Law::Leaking(_) | Law::Loss(_) | Law::Fitting => None,
            }
        };
        links.filter_map(stand).collect()
    }

    fn back_to(&mut self, start: &IndexVec<LiveNode, f64>) {
        self.solver.squared.clone_from(start);
    }

    /// Content of each volume, m³.
    fn contents(&self) -> Vec<f64> {
        let content = |held: &Held| held.capacity * laws::root(self.solver.squared[held.node]).0;
        self.stored.iter().map(content).collect()
    }

    /// Rate at which each volume fills, m³/s.
    fn rates(&self) -> Vec<f64> {
        let rate = |held: &Held| self.solver.outflows[held.boundary].flow;
        self.stored.iter().map(rate).collect()
    }

    fn set(&mut self, before: &[f64], rate: impl Fn(&Held) -> f64) {
        for (held, before) in self.stored.iter().zip(before) {
            self.solver.live.boundaries[held.boundary].1 = Boundary::Stored(Stored {
                capacity: held.capacity,
                before: *before,
                rate: rate(held),
            });
        }
    }

    fn moment(&self, seconds: f64) -> TransientState {
        let flow = |through: &FlowAndSlopes| through.flow;
        TransientState {
            seconds,
            squared: self.solver.squared.clone(),
            flows: self.solver.flows.iter().map(flow).collect(),
        }
    }

    /// Largest error of a pressure in a step, Pa.
    fn error(&mut self, step: f64, first: &[f64], middle: &[f64], end: &[f64]) -> f64 {
        let mut balance: IndexVec<LiveNode, f64> = IndexVec::filled(0.0, self.solver.squared.len());
        let rate = (WEIGHT * step).recip();
        let slopes = first.iter().zip(middle).zip(end);
        for (held, ((first, middle), end)) in self.stored.iter().zip(slopes) {
            let bend = first / MIDDLE - middle / (MIDDLE * (1.0 - MIDDLE)) + end / (1.0 - MIDDLE);
            balance[held.node] = 2.0 * ERROR * step * bend * rate;
        }
        let found = self.solver.linear_response(&balance).clone();
        let error = |held: &Held| found[held.node].abs() / (2.0 * laws::root(self.solver.squared[held.node]).0);
        let volumes = self.stored.iter().filter(|held| held.is_volume);
        volumes.map(error).fold(0.0, f64::max)
    }

    /// Present flow of each supply, m³/s.
    fn supplied(&self) -> IndexVec<SupplyId, f64> {
        let given = |boundary: &Option<BoundaryId>| boundary.map_or(0.0, |id| -self.solver.outflows[id].flow);
        self.solver.live.supplies.iter().map(given).collect()
    }

    /// A shorter step, if this one takes clearly more from a supply than its remaining content.
    fn overdraws(&self, step: f64, taken: &IndexVec<SupplyId, f64>) -> Option<f64> {
        let supplies = self.content.iter().zip(&self.given).zip(taken);
        let shorter = supplies.filter_map(|((content, given), taken)| {
            let left = content - given;
            (left > 0.0 && *taken > left + 1e-4 * content).then(|| step * (left / taken).max(1e-3))
        });
        shorter.reduce(f64::min)
    }

    /// Removes the supplies that are empty. Returns whether there were any.
    fn empty(&mut self) -> Result<bool, NoSolution> {
        let mut any = false;
        for supply in self.content.keys() {
            let is_empty = self.given[supply] >= self.content[supply] * (1.0 - 1e-4);
            if !is_empty || self.transient.emptied[supply].is_some() {
                continue;
            }
            self.transient.emptied[supply] = Some(self.seconds);
            any = true;
            if let Some(boundary) = self.solver.live.supplies[supply] {
                self.solver.live.boundaries[boundary].1 = Boundary::Laminar {
                    outside: 0.0,
                    conductance: 0.0,
                };
            }
        }
        if any {
            self.settle_at_once()?;
        }
        Ok(any)
    }

    /// Checks whether a node has fallen below its floor in the last step.
    fn check_floors(&mut self) {
        let moments = &self.transient.moments;
        let Some(last) = moments.last() else { return };
        let is_below = |(_, node, least): &&(usize, LiveNode, f64)| laws::root(last.squared[*node]).0 < *least;
        let fallen = self.floors.iter().filter(is_below).map(|(number, node, least)| {
            let time = match moments.get(moments.len().saturating_sub(3)..) {
                Some([from, middle, to]) => {
                    let points = [from, middle, to].map(|moment| (moment.seconds, laws::root(moment.squared[*node]).0));
                    turn(from.seconds, to.seconds, |seconds| parabola(points, seconds) < *least)
                }
                _ => 0.0,
            };
            (*number, time)
        });
        self.transient.fell = fallen.min_by(|one, other| one.1.total_cmp(&other.1));
    }
}
