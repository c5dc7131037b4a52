//! What a solved network says, and the figures by which it can be explained.

use super::capacity::Asked;
use super::laws::{Law, LineLaw, Through, flow, pressure};
use super::leakage::{Following, LeakingLaw};
use super::live::{BoundaryId, Edge, LiveLink, LiveNetwork, LiveNode};
use super::solver::Search;
use super::{Conditions, Leak, LeakId, LinkId, Network, NodeId, SupplyId, capacity};
use crate::air::{Regime, choke_ratio, friction_factor};
use crate::index::IndexVec;
use crate::measure::{AbsolutePressure, Flow, Length, PneumaticResistance, Pressure};

/// A pressure difference that counts as none when the state of a device is named, Pa: 0.0001 psi.
const NOTHING: f64 = 0.7;

/// What it took to solve a network.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Effort {
    /// Number of Newton steps.
    pub newton: u32,
    /// Gauss–Seidel sweeps; 0 unless Newton did not settle by itself.
    pub sweeps: u32,
}

/// A node that air reaches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NodeState {
    /// Absolute pressure at the node.
    pub pressure: AbsolutePressure,
    /// Pressure above the surrounding air. Negative where more is used than the lines can bring at a pressure above it.
    pub gauge: Pressure,
    /// True if every way to it from a supply or a held pressure is shut at present. Its pressure is then what was last let in:
    /// nothing but that it is no lower than before the shut valves and no higher than behind them can be told, and what
    /// is here is one such pressure.
    pub trapped: bool,
    /// What leaves less what arrives; rounding only.
    pub imbalance: Flow,
    /// What passes through: what arrives, by links, supplies or leaks.
    pub through: Flow,
}

/// The state of a regulator.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RegulatorState {
    /// Its supply suffices: the outlet is at set − droop·Q.
    Regulating,
    /// Its supply is less than its least differential above the set pressure. The outlet follows the supply, or is at best
    /// where it should be.
    OutOfRegulation,
    /// The pressure behind it is higher than it is set to: it is shut.
    ClosedByBackPressure,
}

/// The state of a check valve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ValveState {
    /// Air passes, or could.
    Open,
    /// The pressure behind it is higher than before it.
    Closed,
}

/// A link between two nodes that air reaches, with the figures that explain it. Flows along the arrow are positive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinkState {
    /// Flow past its middle.
    pub flow: Flow,
    /// Flow into its start; more than `flow` by half the usage along it.
    pub inflow: Flow,
    /// Flow out of its end.
    pub outflow: Flow,
    /// Pressure at its start less that at its end.
    pub drop: Pressure,
    /// Half the sum of the pressures at its ends. With it the laminar law reads: drop = k·L·Q·101 325 Pa/mean.
    pub mean: AbsolutePressure,
    /// Length, of a tube or section.
    pub length: Option<Length>,
    /// Pneumatic resistance k of a tube or section, restated for 101 325 Pa and the temperature of the air in it.
    pub resistance: Option<PneumaticResistance>,
    /// The highest Reynolds number along it, of a tube.
    pub reynolds: Option<f64>,
    /// Laminar, transitional or turbulent flow at that Reynolds number.
    pub regime: Option<Regime>,
    /// Darcy's friction factor there; none without flow.
    pub friction: Option<f64>,
    /// The state of a regulator; none for anything else.
    pub regulator: Option<RegulatorState>,
    /// The state of a check valve; none for anything else.
    pub valve: Option<ValveState>,
}

/// What a leak loses.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeakFlow {
    /// Its flow; negative if the pressure in the network is lower than outside.
    pub flow: Flow,
    /// True if the hole is choked.
    pub choked: bool,
}

/// What a supply gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SupplyState {
    /// Flow that it gives into the network.
    pub flow: Flow,
    /// What it would have to give to hold its pressure, where that is more than its capacity. It then gives its capacity, at a lower
    /// pressure.
    pub asked: Option<Flow>,
    /// True if it is asked for more than its capacity and all figures are as if it could give it: what is used whatever the
    /// pressure is more than the supplies can give, or than lines bring from those that have some left.
    pub over_capacity: bool,
    /// True if it supplies no air because the network holds more pressure than it delivers.
    pub backed_up: bool,
}

/// A solved network. Numbers that are of another network make its methods panic.
pub struct Solution {
    conditions: Conditions,
    /// The live node of each node of the network that air can reach.
    live: IndexVec<NodeId, Option<LiveNode>>,
    /// Squared absolute pressures, Pa².
    squared: IndexVec<LiveNode, f64>,
    balance: IndexVec<LiveNode, f64>,
    through: IndexVec<LiveNode, f64>,
    trapped: IndexVec<LiveNode, bool>,
    /// None for a link that no air can reach.
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
    /// What is lost at its ends beyond its usage, of a tube whose leakage follows the pressure.
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
    pub(super) fn new(network: &Network, conditions: &Conditions, search: Search, asked: Option<&Asked>) -> Self {
        let exceeded = match asked {
            Some(_) => None,
            None => Some(capacity::exceeded(&search, network)),
        };
        let Search {
            live,
            squared,
            flows,
            outflows,
            effort,
            ..
        } = search;
        let trapped = trapped(&live, &squared);
        let mut balance = live.demand.clone();
        let mut through = IndexVec::filled(0.0, squared.len());
        let mut links = IndexVec::filled(None, network.links.len());
        let found = live.laws.into_iter().zip(&live.edges).zip(&live.links).zip(&flows);
        for (((law, edge), id), &Through { flow, .. }) in found {
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

    /// True if no air can reach this node.
    pub fn is_dead(&self, node: NodeId) -> bool {
        self.live[node].is_none()
    }

    /// Pressure above vacuum at a node; none if it is dead.
    pub fn pressure(&self, node: NodeId) -> Option<AbsolutePressure> {
        Some(pressure(self.squared[self.live[node]?]))
    }

    /// Pressure above the surrounding air at a node; none if it is dead.
    pub fn gauge(&self, node: NodeId) -> Option<Pressure> {
        Some(self.pressure(node)? - self.conditions.ambient)
    }

    /// All that is known of a node; none if it is dead.
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

    /// All that is known of a link; none if it is dead.
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

    /// Pressure inside a tube or section, at a distance from its start. None if the link is dead, is neither of the two,
    /// or is not that long.
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

    /// Flow past a place inside a tube or section, at a distance from its start. None if the link is dead, is neither of the two,
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

    /// Where along a tube or section the pressure is lowest, and how low: at an end, or inside if air comes from both. None if
    /// the link is dead or is neither of the two.
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

    /// What a leak loses; none if it is at a dead node.
    pub fn leak(&self, leak: LeakId) -> Option<LeakFlow> {
        self.leaks[leak]
    }

    /// What a supply gives.
    pub fn supply(&self, supply: SupplyId) -> Option<SupplyState> {
        self.supplies[supply]
    }

    /// What each supply gives, in the order in which they were added, without those at dead nodes.
    pub fn all_supplies(&self) -> impl Iterator<Item = SupplyState> + '_ {
        self.supplies.iter().flatten().copied()
    }

    /// All air that is used along lines and at nodes, leaks not counted.
    pub fn usage(&self) -> Flow {
        flow(self.usage)
    }

    /// The largest imbalance of any node, as a part of what passes through it. Nodes through which less than a millionth
    /// of the network's largest flow passes count as if that much passed.
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

    /// The air inside and around, as it was given.
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

/// Which nodes get no air with the valves in their present positions.
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
    Some(friction_factor(reynolds, bore.relative_roughness))
}
