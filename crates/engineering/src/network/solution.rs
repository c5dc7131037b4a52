//! The solution of a network, with the figures that explain it.

use super::capacity::RequiredFlows;
use super::laws::{FlowAndSlopes, Law, LineLaw, flow, pressure};
use super::leakage::{Following, LeakingLaw};
use super::live::{BoundaryId, Edge, LiveLink, LiveNetwork, LiveNode};
use super::solver::NewtonSolver;
use super::{Conditions, Leak, LeakId, LinkId, Network, NodeId, SupplyId, capacity};
use crate::air::{Regime, choke_ratio};
use crate::index::IndexVec;
use crate::measure::{AbsolutePressure, Flow, Length, PneumaticResistance, Pressure};

/// Pressure differences below this count as zero for the state of a device, Pa: 0.0001 psi.
const NOTHING: f64 = 0.7;

/// Number of steps needed to solve a network.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Effort {
    /// Number of Newton steps.
    pub newton: u32,
    /// Gauss–Seidel sweeps; 0 unless Newton's method did not converge by itself.
    pub sweeps: u32,
}

/// A node that air reaches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NodeState {
    /// Absolute pressure at the node.
    pub pressure: AbsolutePressure,
    /// Gauge pressure. Negative where lines cannot carry the usage at a pressure above ambient.
    pub gauge: Pressure,
    /// Whether every path to it from a supply or a held pressure is closed at present. Its pressure then depends on
    /// history: it is only known to be no lower than upstream of the closed valves and no higher than downstream, and
    /// the value here is one such pressure.
    pub trapped: bool,
    /// Outflow minus inflow; only rounding.
    pub imbalance: Flow,
    /// Total inflow from links, supplies and leaks.
    pub through: Flow,
}

/// The state of a regulator.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RegulatorState {
    /// The supply is sufficient: the outlet is at set − droop·Q.
    Regulating,
    /// The supply exceeds the set pressure by less than its least differential. The outlet follows the supply, or is at
    /// best at its proper pressure.
    OutOfRegulation,
    /// Closed, since the downstream pressure is above the set pressure.
    ClosedByBackPressure,
}

/// The state of a check valve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ValveState {
    /// Open, or about to open.
    Open,
    /// Closed, since the downstream pressure is higher.
    Closed,
}

/// The state of a link between two nodes that air reaches, with the figures that explain it. Flows in the direction of
/// the arrow are positive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinkState {
    /// Flow past its middle.
    pub flow: Flow,
    /// Flow into its start: `flow` plus half the usage along it.
    pub inflow: Flow,
    /// Flow out of its end.
    pub outflow: Flow,
    /// Pressure at its start minus that at its end.
    pub drop: Pressure,
    /// Mean of the pressures at its ends. With it the laminar law is: drop = k·L·Q·101 325 Pa/mean.
    pub mean: AbsolutePressure,
    /// Length of a tube or section.
    pub length: Option<Length>,
    /// Pneumatic resistance k of a tube or section, converted to 101 325 Pa and the temperature of its air.
    pub resistance: Option<PneumaticResistance>,
    /// The highest Reynolds number along a tube.
    pub reynolds: Option<f64>,
    /// Flow regime at that Reynolds number.
    pub regime: Option<Regime>,
    /// Darcy's friction factor there. `None` without flow.
    pub friction: Option<f64>,
    /// State of a regulator; `None` for other links.
    pub regulator: Option<RegulatorState>,
    /// State of a check valve; `None` for other links.
    pub valve: Option<ValveState>,
}

/// Flow of a leak.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeakFlow {
    /// The flow; negative if the pressure in the network is below ambient.
    pub flow: Flow,
    /// Whether the hole is choked.
    pub choked: bool,
}

/// State of a supply.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SupplyState {
    /// Flow into the network.
    pub flow: Flow,
    /// The flow required to hold its pressure, if that exceeds its capacity. It then delivers its capacity, at a lower
    /// pressure.
    pub asked: Option<Flow>,
    /// Whether the demand exceeds its capacity and all figures are computed as if it could deliver it:
    /// pressure-independent usage is more than the supplies can deliver, or than lines can carry from those with spare
    /// capacity.
    pub over_capacity: bool,
    /// Whether it delivers no air because the network's pressure is above its own.
    pub backed_up: bool,
}

/// A solved network. Its methods panic on ids of another network.
pub struct Solution {
    conditions: Conditions,
    /// The live node of each node, if air can reach it.
    live: IndexVec<NodeId, Option<LiveNode>>,
    /// Squared absolute pressures, Pa².
    squared: IndexVec<LiveNode, f64>,
    balance: IndexVec<LiveNode, f64>,
    through: IndexVec<LiveNode, f64>,
    trapped: IndexVec<LiveNode, bool>,
    /// `None` for a link that no air can reach.
    links: IndexVec<LinkId, Option<SolvedLink>>,
    leaks: IndexVec<LeakId, Option<LeakFlow>>,
    supplies: IndexVec<SupplyId, Option<SupplyState>>,
    usage: f64,
    effort: Effort,
}

/// A live link with the flow past its middle, m³/s.
#[derive(Clone, Debug)]
struct SolvedLink {
    edge: Edge,
    law: Law,
    flow: f64,
    /// Pressure-dependent loss at the ends of a tube, beyond its usage.
    beyond: Option<(Following, Following)>,
}

impl SolvedLink {
    /// What flows into the start of a tube and out of its end.
    fn through_ends(&self, near: f64, far: f64) -> (f64, f64) {
        let half = self.law.usage() / 2.0;
        let beyond = |(start, end): (Following, Following)| (start.flow(near), end.flow(far));
        let (at_start, at_end) = self.beyond.map_or((0.0, 0.0), beyond);
        (self.flow + half + at_start, self.flow - half - at_end)
    }

    /// A tube as it is in this state, between its squared pressures.
    fn tube(&self, line: &LineLaw, near: f64, far: f64) -> SolvedTube {
        if self.beyond.is_none() {
            return SolvedTube {
                line: *line,
                flow: self.flow,
                near,
                off: 0.0,
            };
        }
        // What it loses is divided between its ends where the network is solved; inside it is spread evenly.
        let (inflow, outflow) = self.through_ends(near, far);
        let flow = f64::midpoint(inflow, outflow);
        let line = LineLaw {
            usage: (inflow - outflow).max(0.0),
            ..*line
        };
        let off = near - line.fall_to(flow, 1.0) - far;
        SolvedTube { line, flow, near, off }
    }
}

/// A tube in a state: what it loses between its ends, and the flow past its middle.
struct SolvedTube {
    line: LineLaw,
    flow: f64,
    /// Squared pressure at its start.
    near: f64,
    /// By how much its law is above the squared pressure at its end.
    off: f64,
}

impl SolvedTube {
    /// Squared pressure at a part of its length.
    fn squared(&self, part: f64) -> f64 {
        self.near - self.line.fall_to(self.flow, part) - self.off * part
    }

    /// Flow past a part of its length.
    fn flow(&self, part: f64) -> f64 {
        self.flow + self.line.usage * (0.5 - part)
    }

    /// Where its pressure is lowest, as a part of its length, and its square there, if that is not at an end.
    fn lowest(&self) -> Option<(f64, f64)> {
        self.line.lowest(self.flow).map(|part| (part, self.squared(part)))
    }
}

impl Solution {
    pub(super) fn new(
        network: &Network,
        conditions: &Conditions,
        solver: NewtonSolver,
        asked: Option<&RequiredFlows>,
    ) -> Self {
        let exceeded = match asked {
            Some(_) => None,
            None => Some(capacity::exceeded(&solver, network)),
        };
        let NewtonSolver {
            live,
            squared,
            flows,
            outflows,
            effort,
            ..
        } = solver;
        let trapped = trapped(&live, &squared);
        let mut balance = live.demand.clone();
        let mut through = IndexVec::filled(0.0, squared.len());
        let mut links = IndexVec::filled(None, network.links.len());
        let found = live.laws.into_iter().zip(&live.edges).zip(&live.links).zip(&flows);
        for (((law, edge), id), &FlowAndSlopes { flow, .. }) in found {
            balance[edge.from] += flow;
            balance[edge.to] -= flow;
            through[if flow > 0.0 { edge.to } else { edge.from }] += flow.abs();
            let edge = *edge;
            let beyond = match law {
                Law::Line(_) => network.links[*id].leakage.map(|leakage| leakage.at_ends()),
                _ => None,
            };
            links[*id] = Some(SolvedLink {
                edge,
                law,
                flow,
                beyond,
            });
        }
        for ((node, _), outflow) in live.boundaries.iter().zip(&outflows) {
            balance[*node] += outflow.flow;
            through[*node] += (-outflow.flow).max(0.0);
        }
        let at_boundary = |id: BoundaryId| (pressure(squared[live.boundaries[id].0]), outflows[id].flow);
        let supplies = live.supplies.iter().zip(&network.supplies);
        let asked = asked.or(exceeded.as_ref()).into_iter().flatten();
        let supplies = supplies.zip(asked).map(|((boundary, (_, supply)), asked)| {
            let (here, outflow) = at_boundary((*boundary)?);
            Some(SupplyState {
                flow: flow(-outflow),
                asked: asked.map(flow),
                over_capacity: asked.is_some() && exceeded.is_some(),
                backed_up: (here - (conditions.ambient + supply.delivers)).pascals() > NOTHING,
            })
        });
        let leaks = live.leaks.iter().zip(&network.leaks).map(|(boundary, (_, leak))| {
            let (here, outflow) = at_boundary((*boundary)?);
            Some(LeakFlow::new(leak, here, outflow, conditions))
        });
        Self {
            conditions: *conditions,
            supplies: supplies.collect(),
            leaks: leaks.collect(),
            live: live.nodes,
            squared,
            balance,
            through,
            trapped,
            links,
            usage: live.demand.iter().sum::<f64>() + live.leakage.iter().map(|id| outflows[*id].flow).sum::<f64>(),
            effort,
        }
    }

    /// Whether no air can reach this node.
    pub fn is_dead(&self, node: NodeId) -> bool {
        self.live[node].is_none()
    }

    /// Absolute pressure at a node. `None` if it is dead.
    pub fn pressure(&self, node: NodeId) -> Option<AbsolutePressure> {
        Some(pressure(self.squared[self.live[node]?]))
    }

    /// Gauge pressure at a node. `None` if it is dead.
    pub fn gauge(&self, node: NodeId) -> Option<Pressure> {
        Some(self.pressure(node)? - self.conditions.ambient)
    }

    /// State of a node. `None` if it is dead.
    pub fn node(&self, node: NodeId) -> Option<NodeState> {
        let live = self.live[node]?;
        Some(NodeState {
            pressure: self.pressure(node)?,
            gauge: self.gauge(node)?,
            trapped: self.trapped[live],
            imbalance: flow(self.balance[live]),
            through: flow(self.through[live]),
        })
    }

    /// State of a link. `None` if it is dead.
    pub fn link(&self, id: LinkId) -> Option<LinkState> {
        let solved = self.links[id].as_ref()?;
        let SolvedLink { law, flow: through, .. } = solved;
        let (near, far) = self.ends(solved);
        let (inflow, middle, outflow) = match law {
            Law::Leaking(line) => (
                through + line.at_start * (near - line.outside),
                line.at(near, far, 0.5).1,
                through - line.at_end * (far - line.outside),
            ),
            _ => {
                let (inflow, outflow) = solved.through_ends(near, far);
                (inflow, *through, outflow)
            }
        };
        let (before, behind) = (pressure(near), pressure(far));
        let mut found = LinkState {
            flow: flow(middle),
            inflow: flow(inflow),
            outflow: flow(outflow),
            drop: before - behind,
            mean: AbsolutePressure::from_pascals(f64::midpoint(before.pascals(), behind.pascals())),
            length: None,
            resistance: None,
            reynolds: None,
            regime: None,
            friction: None,
            regulator: None,
            valve: None,
        };
        match law {
            Law::Line(line) => {
                found.length = Some(Length::from_metres(line.length));
                found.resistance = Some(line.resistance);
                found.reynolds = line.reynolds(middle);
                found.regime = found.reynolds.map(Regime::of);
                found.friction = friction(line, found.reynolds);
            }
            Law::Leaking(LeakingLaw { line, .. }) => {
                found.length = Some(Length::from_metres(line.length));
                found.resistance = Some(line.resistance);
            }
            Law::Regulator(valve) => {
                let supply = before.pascals() - valve.set;
                found.regulator = Some(if behind.pascals() > valve.set + NOTHING {
                    RegulatorState::ClosedByBackPressure
                } else if supply < valve.differential - NOTHING || valve.is_wide_open(near, far) {
                    RegulatorState::OutOfRegulation
                } else {
                    RegulatorState::Regulating
                });
            }
            Law::Loss(loss) if !loss.one_way => {}
            Law::CheckValve | Law::Loss(_) => {
                found.valve = Some(if behind.pascals() > before.pascals() + NOTHING {
                    ValveState::Closed
                } else {
                    ValveState::Open
                });
            }
            Law::Fitting => {}
        }
        Some(found)
    }

    /// Absolute pressure inside a tube or section, at a distance from its start. `None` if the link is dead, is neither
    /// of the two, or is not that long.
    pub fn profile(&self, id: LinkId, from_start: Length) -> Option<AbsolutePressure> {
        let solved = self.links[id].as_ref()?;
        let part = solved.law.part(from_start)?;
        let (near, far) = self.ends(solved);
        let squared = match &solved.law {
            Law::Line(line) => solved.tube(line, near, far).squared(part),
            Law::Leaking(line) => line.at(near, far, part).0,
            _ => return None,
        };
        Some(pressure(squared))
    }

    /// Flow inside a tube or section, at a distance from its start. `None` if the link is dead, is neither of the two,
    /// or is not that long.
    pub fn flow_inside(&self, id: LinkId, from_start: Length) -> Option<Flow> {
        let solved = self.links[id].as_ref()?;
        let part = solved.law.part(from_start)?;
        let (near, far) = self.ends(solved);
        Some(flow(match &solved.law {
            Law::Leaking(line) => line.at(near, far, part).1,
            Law::Line(line) => solved.tube(line, near, far).flow(part),
            _ => solved.flow,
        }))
    }

    /// Squared pressures at the start and end of a link.
    fn ends(&self, solved: &SolvedLink) -> (f64, f64) {
        (self.squared[solved.edge.from], self.squared[solved.edge.to])
    }

    /// The law of a line, the squared pressure at its start and the flow past its middle. None if it is dead, or no line, or
    /// shut off from every source.
    pub(super) fn line(&self, id: LinkId) -> Option<(&LineLaw, f64, f64)> {
        let SolvedLink { edge, law, flow, .. } = self.links[id].as_ref()?;
        let is_known = !self.trapped[edge.from] && !self.trapped[edge.to];
        match law {
            Law::Line(line) if is_known => Some((line, self.squared[edge.from], *flow)),
            _ => None,
        }
    }

    /// The point of lowest pressure along a tube or section: at an end, or inside if it is fed from both ends. `None`
    /// if the link is dead or neither of the two.
    pub fn lowest(&self, id: LinkId) -> Option<(Length, AbsolutePressure)> {
        let solved = self.links[id].as_ref()?;
        let (near, far) = self.ends(solved);
        let (length, inside) = match &solved.law {
            Law::Line(line) => (line.length, solved.tube(line, near, far).lowest()),
            Law::Leaking(leaking) => {
                let inside = leaking
                    .lowest(near, far)
                    .map(|part| (part, leaking.at(near, far, part).0));
                (leaking.line.length, inside)
            }
            _ => return None,
        };
        let end = if near <= far { (0.0, near) } else { (1.0, far) };
        let (part, squared) = inside.unwrap_or(end);
        Some((Length::from_metres(part * length), pressure(squared)))
    }

    /// Flow of a leak. `None` at a dead node.
    pub fn leak(&self, leak: LeakId) -> Option<LeakFlow> {
        self.leaks[leak]
    }

    /// State of a supply. `None` at a dead node.
    pub fn supply(&self, supply: SupplyId) -> Option<SupplyState> {
        self.supplies[supply]
    }

    /// States of the supplies, in the order in which they were added, without those at dead nodes.
    pub fn all_supplies(&self) -> impl Iterator<Item = SupplyState> + '_ {
        self.supplies.iter().flatten().copied()
    }

    /// Total usage along lines and at nodes, without leaks.
    pub fn usage(&self) -> Flow {
        flow(self.usage)
    }

    /// Largest imbalance of a node, relative to its throughput. A throughput below a millionth of the network's largest
    /// flow is replaced by that.
    pub fn residual(&self) -> f64 {
        let least = 1e-6 * self.through.iter().copied().fold(0.0, f64::max);
        let parts = self.balance.iter().zip(&self.through).map(|(balance, through)| {
            let through = through.max(least);
            if through > 0.0 { balance.abs() / through } else { 0.0 }
        });
        parts.fold(0.0, f64::max)
    }

    /// Number of steps that the solution took.
    pub fn effort(&self) -> Effort {
        self.effort
    }

    /// The conditions that it was solved with.
    pub fn conditions(&self) -> Conditions {
        self.conditions
    }
}

impl LeakFlow {
    fn new(leak: &Leak, here: AbsolutePressure, lost: f64, conditions: &Conditions) -> Self {
        let ratio = here.pascals() / conditions.ambient.pascals();
        Self {
            flow: flow(lost),
            choked: matches!(leak, Leak::Orifice { .. }) && ratio >= choke_ratio(),
        }
    }
}

/// The nodes that no air reaches with the valves in their present positions.
fn trapped(live: &LiveNetwork, squared: &IndexVec<LiveNode, f64>) -> IndexVec<LiveNode, bool> {
    let shut = |link: LiveLink| {
        let edge = live.edges[link];
        let (from, to) = (
            pressure(squared[edge.from]).pascals(),
            pressure(squared[edge.to]).pascals(),
        );
        match &live.laws[link] {
            Law::Line(_) | Law::Leaking(_) | Law::Fitting => false,
            Law::Loss(loss) if !loss.one_way => false,
            Law::CheckValve | Law::Loss(_) => to > from + NOTHING,
            Law::Regulator(regulator) => to > from.min(regulator.set) + NOTHING,
        }
    };
    if !live.laws.keys().any(shut) {
        return IndexVec::filled(false, squared.len());
    }
    let mut trapped: IndexVec<LiveNode, bool> = IndexVec::filled(true, squared.len());
    let giving = live.boundaries.iter().filter(|(_, boundary)| boundary.gives());
    let mut queue: Vec<LiveNode> = giving.map(|(node, _)| *node).collect();
    let neighbours = live.neighbours();
    while let Some(node) = queue.pop() {
        if !std::mem::take(&mut trapped[node]) {
            continue;
        }
        for &(link, forwards) in neighbours.of(node) {
            let edge = live.edges[link];
            if (forwards || live.laws[link].both_ways()) && !shut(link) {
                queue.push(if forwards { edge.to } else { edge.from });
            }
        }
    }
    trapped
}

fn friction(line: &LineLaw, reynolds: Option<f64>) -> Option<f64> {
    let bore = line.bore?;
    let reynolds = reynolds.filter(|reynolds| *reynolds > 0.0)?;
    Some(bore.friction.factor(reynolds))
}
