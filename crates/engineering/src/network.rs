//! The air network of an office: supplies, tubes, cables, regulators, check valves and leaks, solved for the pressure
//! at every node and the flow in every link.
//!
//! The unknowns are the squared absolute pressures P = p² at the nodes, in which laminar lines are linear. [`solve`]
//! either converges or returns the reason why it does not ([`NoSolution`]).
//!
//! # Method, and why it always terminates
//!
//! Each link has a law Q(Pᵢ, Pⱼ) that rises with the pressure before it and falls with the one behind it; each leak and
//! each supply has one that rises with the pressure at its node. So the balances of the nodes form what Rheinboldt
//! calls an M-function: off-diagonal antitone, and inverse isotone because what leaves one node enters another. Three
//! things follow.
//!
//! * There is one solution, whatever the start, and the order in which nodes are named cannot matter.
//! * Newton's matrices are diagonally dominant M-matrices: they are eliminated without pivoting and without a single
//!   subtraction (see `linear.rs`).
//! * Where Newton does not converge by itself, because regulators and check valves keep switching, there are three
//!   fallbacks, each with a bounded number of steps: steps shortened until the sum of all imbalances falls; the same
//!   with devices made gradually harder, by a factor of ten each time; and nonlinear Gauss–Seidel sweeps, which
//!   converge from any start for every M-function (Ortega and Rheinboldt, *Iterative Solution of Nonlinear Equations in
//!   Several Variables*, 1970, section 13.5; from memory), however slowly, so that damped steps come between them.
//!   [`Solution::effort`] tells which were needed.
//!
//! # Devices
//!
//! * A regulator passes min(droop line, wide-open loss) and never backwards: its outlet is at set − droop·Q as long as
//!   the supply can give that, and follows the supply when it cannot. It is *out of regulation* as soon as supply − set
//!   is less than its least differential, even if the computed outlet still looks right: see [`RegulatorState`].
//! * A check valve passes along its arrow only.
//! * A filter, a sensor or a valve with a stated loss takes pressure from the air by its flow, both ways or along its
//!   arrow only: see [`Loss`].
//! * A supply only delivers air: where another supply keeps the pressure above its own, it is backed up. It delivers no
//!   more than its capacity (see `capacity.rs`).
//! * Usage spread along a line is integrated along it, not lumped: in laminar flow P(x) is a parabola, and half the
//!   usage at either end is exact. Dividing a line into pieces changes nothing.
//!
//! # Artificial figures
//!
//! So that every network has one solution, ideal devices have small artificial figures, all far below the resolution of
//! a gauge: a fitting or an open check valve loses 0.1 Pa for each 12.7 scfh at 10 psi, a supply and a regulator
//! without droop lose 0.0001 Pa and 0.001 Pa at that flow, and a closed device leaks at most 2e-12 m³/s (3e-7 scfh) at
//! 10 psi.

mod capacity;
mod check;
mod laws;
mod leakage;
mod linear;
mod live;
mod loss;
mod neighbours;
mod probe;
mod root_finding;
mod sensitivity;
mod solution;
mod solver;
mod transient;

use core::fmt;

pub use leakage::Leakage;
pub use loss::Loss;
pub use probe::{Hole, HoleLocation, LinkEnd, Probe};
pub use sensitivity::{Parameter, Response, Sensitivity};
pub use solution::{Effort, LeakFlow, LinkState, NodeState, RegulatorState, Solution, SupplyState, ValveState};
pub use solver::solve;
pub use transient::{PressureFloor, StoredVolume, Transient, TransientInputs};

use crate::air::Reference;
use crate::atmosphere::isa_pressure;
use crate::index::IndexVec;
use crate::index_type;
use crate::measure::{AbsolutePressure, Flow, FlowResistance, Length, PneumaticResistance, Pressure, Temperature};
use crate::standard::StandardConditions;

index_type! {
    /// Index of a node, where links meet.
    pub struct NodeId;
    /// Index of a link between two nodes.
    pub struct LinkId;
    /// Index of a leak.
    pub struct LeakId;
    /// Index of a supply, such as a dryer's outlet.
    pub struct SupplyId;
}

/// The air inside and around the network.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conditions {
    /// Ambient pressure: the reference of gauge pressures, and the pressure outside of leaks.
    pub ambient: AbsolutePressure,
    /// Temperature of the air in the network.
    pub temperature: Temperature,
}

impl Conditions {
    /// The conditions at an elevation by ISO 2533 (see [`isa_pressure`]).
    pub fn at(elevation: Length, temperature: Temperature) -> Self {
        Self {
            ambient: isa_pressure(elevation),
            temperature,
        }
    }
}

/// A round bore: a tube in the office or an air pipe along a route.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tube {
    /// Inside diameter of the bore.
    pub bore: Length,
    /// Length from end to end.
    pub length: Length,
    /// Height of the wall's roughness, 0 for drawn tube; up to a tenth of the bore. It matters only above a Reynolds
    /// number of 2000.
    pub roughness: Length,
    /// Air lost evenly along it.
    pub usage: Flow,
}

/// A length of cable, given by its pneumatic resistance. Its flow is assumed laminar in any case.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// Pneumatic resistance at `reference`.
    pub resistance: PneumaticResistance,
    /// Mean absolute pressure and temperature of the resistance.
    pub reference: Reference,
    /// Temperature of the air in it, if different from the network's.
    pub temperature: Option<Temperature>,
    /// Length from end to end.
    pub length: Length,
    /// Air lost evenly along it.
    pub usage: Flow,
}

/// A pressure regulator with the figures of its data sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Regulator {
    /// Gauge outlet pressure at zero flow.
    pub set: Pressure,
    /// Decrease of its outlet pressure per flow.
    pub droop: FlowResistance,
    /// Least difference between supply and set pressure at which it regulates.
    pub differential: Pressure,
    /// Highest flow in regulation, if known. Wide open it loses `differential` at this flow; if unknown, its loss is
    /// negligible.
    pub rated: Option<Flow>,
}

/// A link between two nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Link {
    /// A tube or pipe, by bore.
    Tube(Tube),
    /// A section of cable, by pneumatic resistance.
    Section(Section),
    /// A regulator, from supply to outlet.
    Regulator(Regulator),
    /// A check valve, open in the direction of its arrow.
    CheckValve,
    /// A device with a stated pressure loss.
    Restriction {
        /// Pressure loss as a function of flow.
        loss: Loss,
        /// Whether air passes in the direction of its arrow only.
        one_way: bool,
    },
    /// A device with negligible loss: a fitting, a manifold, an open valve, a sensor on the line.
    Fitting,
}

impl Link {
    /// Whether air passes in the direction of its arrow only.
    pub fn is_one_way(&self) -> bool {
        matches!(
            self,
            Self::Regulator(_) | Self::CheckValve | Self::Restriction { one_way: true, .. }
        )
    }
}

/// A leak to the surrounding air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Leak {
    /// A long narrow path: p² − pₐ² = 2·101 325 Pa·R·Q, with pₐ the ambient pressure.
    Laminar {
        /// Resistance R at a mean absolute pressure of 101 325 Pa in air of the network's temperature.
        resistance: FlowResistance,
    },
    /// A round hole in a thin wall: see [`crate::air::orifice_flow`].
    Orifice {
        /// Diameter of the hole.
        hole: Length,
        /// Discharge coefficient, as [`crate::air::SHARP_EDGE`].
        coefficient: f64,
    },
}

impl Leak {
    /// A long narrow path that loses `flow` from the pressure `inside` into air at `ambient`. `None` unless the flow is
    /// positive and the pressure above ambient.
    pub fn passing(flow: Flow, inside: AbsolutePressure, ambient: AbsolutePressure) -> Option<Self> {
        let (inside, outside) = (inside.pascals(), ambient.pascals());
        let squares = inside * inside - outside * outside;
        let flow = flow.cubic_metres_per_second();
        (squares > 0.0 && flow > 0.0).then(|| Self::Laminar {
            resistance: FlowResistance::from_pascal_seconds_per_m3(
                squares / (2.0 * StandardConditions::BASE.pressure().pascals() * flow),
            ),
        })
    }
}

/// A dryer's outlet, which only delivers air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Supply {
    /// Gauge pressure that it delivers.
    pub delivers: Pressure,
    /// Capacity, if known. Its pressure falls when the demand exceeds it: see [`SupplyState`].
    pub capacity: Option<Flow>,
}

#[derive(Clone, Copy, Debug, Default)]
struct Node {
    demand: f64,
    held: Option<Pressure>,
}

/// A network under construction, for [`solve`].
///
/// ```
/// use drysheath_engineering::measure::{Flow, Length, Pressure, Temperature};
/// use drysheath_engineering::network::{Conditions, Link, Network, Supply, Tube, solve};
///
/// let mut network = Network::new();
/// let (dryer, far) = (network.node(), network.node());
/// network.supply(dryer, Supply { delivers: Pressure::from_pascals(70e3), capacity: None });
/// let tube = network.link(dryer, far, Link::Tube(Tube {
///  bore: Length::from_metres(0.009_525),
///  length: Length::from_metres(1_524.0),
///  roughness: Length::from_metres(0.0),
///  usage: Flow::from_cubic_metres_per_second(0.0),
/// }));
/// network.demand(far, Flow::from_cubic_metres_per_second(1e-4));
/// let air = Conditions::at(Length::from_metres(0.0), Temperature::from_celsius(15.0));
/// let solution = solve(&network, &air)?;
/// assert!(solution.gauge(far).unwrap() < solution.gauge(dryer).unwrap());
/// assert!(solution.link(tube).unwrap().reynolds.unwrap() < 2000.0);
/// # Ok::<(), drysheath_engineering::network::NoSolution>(())
/// ```
#[derive(Clone, Debug, Default)]
pub struct Network {
    nodes: IndexVec<NodeId, Node>,
    links: IndexVec<LinkId, ConnectedLink>,
    leaks: IndexVec<LeakId, (NodeId, Leak)>,
    supplies: IndexVec<SupplyId, (NodeId, Supply)>,
}

/// A link and the nodes that it leads from and to.
#[derive(Clone, Copy, Debug)]
struct ConnectedLink {
    from: NodeId,
    to: NodeId,
    link: Link,
    /// How its usage follows the pressure. `None` if it is the same at any pressure.
    leakage: Option<Leakage>,
    /// Whether it is a regulator that passes no more than its supply less its differential.
    held_back: bool,
}

impl Network {
    /// Creates a network without nodes.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a node without supplies and leaks.
    pub fn node(&mut self) -> NodeId {
        self.nodes.push(Node::default())
    }

    /// Adds a dryer's outlet at a node. A node may have several.
    pub fn supply(&mut self, at: NodeId, supply: Supply) -> SupplyId {
        self.supplies.push((at, supply))
    }

    /// Fixes the gauge pressure at a node, such as a measured one; air may flow in or out for it.
    ///
    /// # Panics
    ///
    /// If the node belongs to another network.
    pub fn hold(&mut self, at: NodeId, gauge: Pressure) {
        self.nodes[at].held = Some(gauge);
    }

    /// Adds usage at a node that does not depend on the pressure there.
    ///
    /// # Panics
    ///
    /// If the node belongs to another network.
    pub fn demand(&mut self, at: NodeId, flow: Flow) {
        self.nodes[at].demand += flow.cubic_metres_per_second();
    }

    /// Adds a link from one node to another.
    pub fn link(&mut self, from: NodeId, to: NodeId, link: Link) -> LinkId {
        self.links.push(ConnectedLink {
            from,
            to,
            link,
            leakage: None,
            held_back: false,
        })
    }

    /// Lets every regulator pass no more than its supply less its differential, however little it has: the least that its maker
    /// promises of it, where it otherwise opens as wide as it can. What is downstream of a regulator that lacks pressure is between
    /// the two.
    pub fn hold_back_regulators(&mut self) {
        for joined in &mut self.links {
            joined.held_back = matches!(joined.link, Link::Regulator(_));
        }
    }

    /// The same for one regulator.
    pub fn hold_back(&mut self, regulator: LinkId) {
        let joined = &mut self.links[regulator];
        joined.held_back = matches!(joined.link, Link::Regulator(_));
    }

    /// Adds a leak at a node.
    pub fn leak(&mut self, at: NodeId, leak: Leak) -> LeakId {
        self.leaks.push((at, leak))
    }

    /// Divides a tube or section and its usage at a distance from its start, and returns the new node. The part before
    /// it keeps its id; the part beyond is a new link. `None` if the link is neither of the two or not that long.
    ///
    /// # Panics
    ///
    /// If the link belongs to another network.
    pub fn split(&mut self, link: LinkId, from_start: Length) -> Option<NodeId> {
        let ConnectedLink {
            to,
            link: whole,
            leakage,
            ..
        } = self.links[link];
        let (length, usage) = match whole {
            Link::Tube(tube) => (tube.length, tube.usage),
            Link::Section(section) => (section.length, section.usage),
            _ => return None,
        };
        if !(0.0..=length.metres()).contains(&from_start.metres()) {
            return None;
        }
        let part = if length.metres() > 0.0 {
            from_start.metres() / length.metres()
        } else {
            0.0
        };
        let piece = |part: f64| match whole {
            Link::Tube(tube) => Link::Tube(Tube {
                length: length * part,
                usage: usage * part,
                ..tube
            }),
            Link::Section(section) => Link::Section(Section {
                length: length * part,
                usage: usage * part,
                ..section
            }),
            other => other,
        };
        let between = self.node();
        let before = &mut self.links[link];
        before.to = between;
        before.link = piece(part);
        before.leakage = leakage.map(|whole| whole.piece(0.0, part));
        let behind = self.link(between, to, piece(1.0 - part));
        self.links[behind].leakage = leakage.map(|whole| whole.piece(part, 1.0));
        Some(between)
    }

    /// A copy of the network with all usage and the resistance of all sections multiplied by a factor each. Bores are
    /// unchanged.
    #[must_use]
    pub fn scaled(&self, usage: f64, resistance: f64) -> Self {
        let mut network = self.clone();
        for node in &mut network.nodes {
            node.demand *= usage;
        }
        for joined in &mut network.links {
            match &mut joined.link {
                Link::Tube(tube) => tube.usage = tube.usage * usage,
                Link::Section(section) => {
                    section.usage = section.usage * usage;
                    section.resistance = section.resistance * resistance;
                }
                Link::Regulator(_) | Link::CheckValve | Link::Restriction { .. } | Link::Fitting => {}
            }
        }
        network
    }

    /// Replaces a link between the same nodes.
    ///
    /// # Panics
    ///
    /// If the link belongs to another network.
    pub fn replace(&mut self, link: LinkId, by: Link) {
        self.links[link].link = by;
    }

    /// The figures of a supply.
    ///
    /// # Panics
    ///
    /// If the supply belongs to another network.
    pub fn supplied(&self, supply: SupplyId) -> Supply {
        self.supplies[supply].1
    }

    /// Replaces a supply at the same node.
    ///
    /// # Panics
    ///
    /// If the supply belongs to another network.
    pub fn supply_otherwise(&mut self, supply: SupplyId, by: Supply) {
        self.supplies[supply].1 = by;
    }

    /// The nodes that a link leads from and to.
    ///
    /// # Panics
    ///
    /// If the link belongs to another network.
    pub fn ends(&self, link: LinkId) -> (NodeId, NodeId) {
        let ConnectedLink { from, to, .. } = self.links[link];
        (from, to)
    }

    /// The figures of a link.
    ///
    /// # Panics
    ///
    /// If the link belongs to another network.
    pub fn law(&self, link: LinkId) -> Link {
        self.links[link].link
    }

    /// Whether the pressure at a node is fixed.
    ///
    /// # Panics
    ///
    /// If the node belongs to another network.
    pub fn is_held(&self, node: NodeId) -> bool {
        self.nodes[node].held.is_some()
    }

    /// All links, in the order in which they were added.
    pub fn all_links(&self) -> impl Iterator<Item = LinkId> + use<> {
        self.links.keys()
    }

    /// The links that end at a node, in the order in which they were added.
    pub fn links_at(&self, node: NodeId) -> impl Iterator<Item = LinkId> {
        let ends_there = move |(_, joined): &(LinkId, &ConnectedLink)| joined.from == node || joined.to == node;
        self.links.enumerated().filter(ends_there).map(|(id, _)| id)
    }

    /// Number of nodes in the network.
    pub fn nodes(&self) -> usize {
        self.nodes.len()
    }

    /// Number of links in the network.
    pub fn links(&self) -> usize {
        self.links.len()
    }
}

/// An element of a network, in error messages.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NetworkElement {
    /// One of the nodes.
    Node(NodeId),
    /// One of the links.
    Link(LinkId),
    /// One of the leaks.
    Leak(LeakId),
    /// One of the supplies.
    Supply(SupplyId),
    /// The ambient conditions of the whole network.
    Conditions,
}

/// Why a network has no solution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NoSolution {
    /// A figure is impossible: a bore of zero, a usage that is NaN.
    Impossible {
        /// The element with that figure.
        piece: NetworkElement,
        /// The reason, as a phrase that follows "the network cannot be computed: ".
        why: &'static str,
    },
    /// More air is used than the lines could carry, even with a vacuum at the end.
    Overdrawn {
        /// The node that would be farthest below vacuum, or the line if that point is inside one.
        at: NetworkElement,
    },
    /// The computation did not converge. No network is known for which this happens.
    Unsettled {
        /// The node with the largest imbalance.
        at: NodeId,
        /// Outflow minus inflow of that node.
        imbalance: Flow,
        /// Number of steps made.
        steps: u32,
    },
}

impl NoSolution {
    /// The element that the error is about.
    pub fn piece(&self) -> NetworkElement {
        match *self {
            NoSolution::Impossible { piece, .. } => piece,
            NoSolution::Overdrawn { at } => at,
            NoSolution::Unsettled { at, .. } => NetworkElement::Node(at),
        }
    }
}

impl fmt::Display for NoSolution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoSolution::Impossible { why, .. } => write!(f, "the network cannot be computed: {why}"),
            NoSolution::Overdrawn { .. } => f.write_str(
                "more air is used than the lines can bring here: not even a vacuum would draw so much through them",
            ),
            NoSolution::Unsettled { steps, .. } => {
                write!(
                    f,
                    "the pressures did not settle in {steps} steps; this place is farthest from balance"
                )
            }
        }
    }
}

impl core::error::Error for NoSolution {}
