//! What a solved network says, and the figures by which it can be explained.

use super::laws::{Law, Line, Through, flow, pressure};
use super::solver::{DEAD, System};
use super::{Conditions, LeakId, LinkId, Network, NodeId, SupplyId};
use crate::air::{Regime, friction_factor};
use crate::measure::{AbsolutePressure, Flow, Length, PneumaticResistance, Pressure};

/// A pressure difference that counts as none when the state of a device is named, Pa: 0.0001 psi.
const NOTHING: f64 = 0.7;

/// What it took to solve a network.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Effort {
    /// Newton steps.
    pub newton: u32,
    /// Gauss–Seidel sweeps; 0 unless Newton did not settle by itself.
    pub sweeps: u32,
}

/// A node that air reaches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NodeState {
    /// Pressure above vacuum.
    pub pressure: AbsolutePressure,
    /// Pressure above the surrounding air. Negative where more is used than the lines can bring at a pressure above it.
    pub gauge: Pressure,
    /// What leaves less what arrives; rounding only.
    pub imbalance: Flow,
    /// What passes through: what arrives, by links, supplies or leaks.
    pub through: Flow,
}

/// How a regulator stands.
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

/// How a check valve stands.
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
    /// Pneumatic resistance k of a tube or section, restated for 101 325 Pa and the network's temperature.
    pub resistance: Option<PneumaticResistance>,
    /// The highest Reynolds number along it, of a tube.
    pub reynolds: Option<f64>,
    /// The regime there.
    pub regime: Option<Regime>,
    /// Darcy's friction factor there; none without flow.
    pub friction: Option<f64>,
    /// How it stands, of a regulator.
    pub regulator: Option<RegulatorState>,
    /// How it stands, of a check valve.
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
    /// Its flow.
    pub flow: Flow,
    /// True if that is more than its capacity.
    pub over_capacity: bool,
    /// True if it gives nothing because the network holds more pressure than it delivers.
    pub backed_up: bool,
}

/// A solved network.
pub struct Solution {
    conditions: Conditions,
    /// Of each node of the network, its place among the living.
    place: Vec<u32>,
    squared: Vec<f64>,
    balance: Vec<f64>,
    through: Vec<f64>,
    /// Of each link of the network: its ends among the living, its law and its flow; none if it is dead.
    links: Vec<Option<(u32, u32, Law, f64)>>,
    leaks: Vec<Option<LeakFlow>>,
    supplies: Vec<SupplyState>,
    usage: f64,
    effort: Effort,
}

fn at(values: &[f64], index: u32) -> f64 {
    values.get(index as usize).copied().unwrap_or_default()
}

fn add(values: &mut [f64], index: u32, more: f64) {
    if let Some(value) = values.get_mut(index as usize) {
        *value += more;
    }
}

impl Solution {
    pub(super) fn new(
        network: &Network,
        conditions: &Conditions,
        system: System,
        squared: Vec<f64>,
        flows: &[Through],
        ends: &[(f64, f64)],
        effort: Effort,
    ) -> Self {
        let mut balance = system.demand.clone();
        let mut through = vec![0.0; squared.len()];
        let mut links = vec![None; network.links.len()];
        let usage = system.demand.iter().sum();
        for (((law, edge), id), flow) in system.laws.into_iter().zip(&system.edges).zip(&system.links).zip(flows) {
            add(&mut balance, edge.from, flow.flow);
            add(&mut balance, edge.to, -flow.flow);
            add(&mut through, if flow.flow > 0.0 { edge.to } else { edge.from }, flow.flow.abs());
            if let Some(slot) = links.get_mut(id.index()) {
                *slot = Some((edge.from, edge.to, law, flow.flow));
            }
        }
        for ((node, _), (flow, _)) in system.ends.iter().zip(ends) {
            add(&mut balance, *node, *flow);
            add(&mut through, *node, (-flow).max(0.0));
        }
        let mut solution = Self {
            conditions: *conditions,
            place: system.place,
            squared,
            balance,
            through,
            links,
            leaks: Vec::with_capacity(network.leaks.len()),
            supplies: Vec::with_capacity(network.supplies.len()),
            usage,
            effort,
        };
        solution.name_ends(network, ends);
        solution
    }

    /// The ends stand in the order in which they were made: held nodes, supplies, leaks that live.
    fn name_ends(&mut self, network: &Network, ends: &[(f64, f64)]) {
        let held = network.nodes.iter().filter(|node| node.held.is_some()).count();
        let mut flows = ends.iter().skip(held).map(|(flow, _)| *flow);
        for (node, supply) in &network.supplies {
            let given = -flows.next().unwrap_or_default();
            let here = self.pressure(*node).unwrap_or(self.conditions.ambient);
            let capacity = supply.capacity.map_or(f64::INFINITY, Flow::cubic_metres_per_second);
            self.supplies.push(SupplyState {
                flow: flow(given),
                over_capacity: given > capacity * (1.0 + 1e-9),
                backed_up: (here - (self.conditions.ambient + supply.delivers)).pascals() > NOTHING,
            });
        }
        for (node, leak) in &network.leaks {
            let state = self.pressure(*node).map(|here| {
                let ratio = here.pascals() / self.conditions.ambient.pascals();
                LeakFlow {
                    flow: flow(flows.next().unwrap_or_default()),
                    choked: matches!(leak, super::Leak::Orifice { .. }) && ratio >= crate::air::choke_ratio(),
                }
            });
            self.leaks.push(state);
        }
    }

    fn place(&self, node: NodeId) -> Option<u32> {
        self.place.get(node.index()).copied().filter(|place| *place != DEAD)
    }

    /// True if no air can reach this node.
    pub fn is_dead(&self, node: NodeId) -> bool {
        self.place(node).is_none()
    }

    /// Pressure above vacuum at a node; none if it is dead.
    pub fn pressure(&self, node: NodeId) -> Option<AbsolutePressure> {
        Some(pressure(at(&self.squared, self.place(node)?)))
    }

    /// Pressure above the surrounding air at a node; none if it is dead.
    pub fn gauge(&self, node: NodeId) -> Option<Pressure> {
        Some(self.pressure(node)? - self.conditions.ambient)
    }

    /// All that is known of a node; none if it is dead.
    pub fn node(&self, node: NodeId) -> Option<NodeState> {
        let place = self.place(node)?;
        Some(NodeState {
            pressure: self.pressure(node)?,
            gauge: self.gauge(node)?,
            imbalance: flow(at(&self.balance, place)),
            through: flow(at(&self.through, place)),
        })
    }

    /// All that is known of a link; none if it is dead.
    pub fn link(&self, link: LinkId) -> Option<LinkState> {
        let (from, to, law, middle) = self.links.get(link.index())?.as_ref()?;
        let (near, far) = (at(&self.squared, *from), at(&self.squared, *to));
        let (before, behind) = (pressure(near), pressure(far));
        let mut state = LinkState {
            flow: flow(*middle),
            inflow: flow(middle + law.usage() / 2.0),
            outflow: flow(middle - law.usage() / 2.0),
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
                state.length = Some(Length::from_metres(line.length));
                state.resistance = Some(line.resistance);
                state.reynolds = line.reynolds(*middle);
                state.regime = state.reynolds.map(Regime::of);
                state.friction = friction(line, state.reynolds);
            }
            Law::Regulator(valve) => {
                let supply = before.pascals() - valve.set;
                state.regulator = Some(if behind.pascals() > valve.set + NOTHING {
                    RegulatorState::ClosedByBackPressure
                } else if supply < valve.differential - NOTHING || valve.is_wide_open(near, far) {
                    RegulatorState::OutOfRegulation
                } else {
                    RegulatorState::Regulating
                });
            }
            Law::CheckValve => {
                state.valve = Some(if behind.pascals() > before.pascals() + NOTHING {
                    ValveState::Closed
                } else {
                    ValveState::Open
                });
            }
            Law::Fitting => {}
        }
        Some(state)
    }

    /// Pressure inside a tube or section, at a distance from its start. None if the link is dead, is neither of the two,
    /// or is not that long.
    pub fn profile(&self, link: LinkId, from_start: Length) -> Option<AbsolutePressure> {
        let (from, _, law, middle) = self.links.get(link.index())?.as_ref()?;
        let Law::Line(line) = law else { return None };
        let part = if line.length > 0.0 { from_start.metres() / line.length } else { 0.0 };
        if !(0.0..=1.0).contains(&part) {
            return None;
        }
        Some(pressure(at(&self.squared, *from) - line.fall_to(*middle, part)))
    }

    /// What a leak loses; none if it is at a dead node.
    pub fn leak(&self, leak: LeakId) -> Option<LeakFlow> {
        self.leaks.get(leak.index()).copied().flatten()
    }

    /// What a supply gives.
    pub fn supply(&self, supply: SupplyId) -> Option<SupplyState> {
        self.supplies.get(supply.index()).copied()
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

    /// What it took.
    pub fn effort(&self) -> Effort {
        self.effort
    }

    /// The air inside and around, as it was given.
    pub fn conditions(&self) -> Conditions {
        self.conditions
    }
}

fn friction(line: &Line, reynolds: Option<f64>) -> Option<f64> {
    let bore = line.bore?;
    let reynolds = reynolds.filter(|reynolds| *reynolds > 0.0)?;
    Some(friction_factor(reynolds, bore.relative_roughness))
}
