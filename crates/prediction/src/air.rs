//! The pressures and flows of an office's air network.

mod back_flow;
mod bore;
mod builder;
mod detection;
mod estimate;
mod failure;
pub(crate) mod graph;
mod held_back;
mod lines;
mod regulation;
mod shared;
mod solvable;
mod state;
mod systems;
mod transient;
mod tree;
mod uncertainty;

pub use back_flow::back_flow_note;
pub use bore::BoreTarget;
pub use detection::{Detection, HoleEffect, SmallestLeak, Watcher, WatcherId};
pub use estimate::{
    Bounds, Fit, FitParameter, FitProblem, Fitted, FittedReading, LeakInterval, LeakSearch, Observation, ReadQuantity,
};
pub use failure::Failure;
pub(crate) use held_back::{HeldBack, combinations, with_differential};
pub(crate) use lines::cable_temperature;
pub use regulation::OutletBounds;
pub use state::{LinePoint, NetworkChange, SectionOf, StateError};
pub use systems::SystemId;
pub use transient::AirTransient;
pub(crate) use transient::{PIECES_FOR_ALARMS, PIECES_FOR_HOLD_UP, StopCondition};
pub use tree::{SupplyTree, TreePlace};
pub use uncertainty::{Spread, Uncertainty};

use drysheath_engineering::measure::{Flow, Length, Pressure, Temperature};
use drysheath_engineering::network::{Conditions, LinkId, LinkState, NodeId, RegulatorState, Solution, SupplyState};
use drysheath_engineering::standard::StandardConditions;
use drysheath_office::kinds::Key;
use drysheath_office::line::LinePosition;
use drysheath_office::{Networks, Office, ThingId};

use crate::feeds::stated_temperature;
use crate::line::{Line, LineSection, Segment};
use crate::missing_input::MissingInput;
use builder::NetworkBuilder;
use graph::{AirEdge, AirGraph, AirNode, DryerLocation, Ports};
use systems::{System, Systems};

/// The solved air network of an office, as far as its file allows. Every answer is `None` where it cannot be computed:
/// where an input is missing, where no air arrives, or where valves cut a place off from every source. Pressures are
/// also `None` downstream of a regulator that is out of regulation.
pub struct Air {
    /// Ambient pressure, and the temperature of the air in the network.
    pub conditions: Conditions,
    graph: AirGraph,
    systems: Systems,
}

/// A place in the air network.
#[derive(Clone, Copy, Debug)]
pub enum AirLocation<'a> {
    /// The inlet of a thing.
    Thing(ThingId),
    /// A point on a line, at a distance in metres from its beginning.
    OnLine(&'a Line, f64),
}

impl Air {
    /// Computes the air network of an office. Appends to `missing` the inputs without which part of it cannot be
    /// computed.
    pub fn new(office: &Office, networks: &Networks, missing: &mut Vec<MissingInput>) -> Self {
        // Without even a default temperature nothing can be computed, so the network stays empty.
        let temperature = stated_temperature(office, Key::AirTemperature)
            .and_then(|given| Temperature::of(given.quantity))
            .unwrap_or(StandardConditions::BASE.temperature());
        let conditions = Conditions {
            ambient: office.atmosphere(),
            temperature,
        };
        let graph = NetworkBuilder::new(office, networks).build();
        let systems = Systems::new(&graph, &conditions);
        missing.extend(systems.missing.iter().map(|missing| graph.missing[*missing].clone()));
        if graph.nodes == 0 {
            // A neighbouring office cannot be computed, so nothing is computed here.
            missing.extend(graph.missing.iter().cloned());
        }
        Self {
            conditions,
            graph,
            systems,
        }
    }

    fn system(&self, id: SystemId) -> &System {
        &self.systems.all[id]
    }

    fn solution(&self, id: SystemId) -> Option<&Solution> {
        self.system(id).solution.as_ref().ok()
    }

    fn ports(&self, thing: ThingId) -> Option<Ports> {
        self.graph.ports[thing]
    }

    pub(crate) fn graph(&self) -> &AirGraph {
        &self.graph
    }

    /// Gauge pressure at a node that a source reaches.
    pub(crate) fn gauge(&self, node: AirNode) -> Option<Pressure> {
        let (system, node) = self.systems.nodes[node]?;
        self.known(system, node)
    }

    /// Upper bound of the gauge pressure at a node: downstream of a regulator out of regulation, computed as if it held
    /// its set pressure.
    fn gauge_at_most(&self, node: AirNode) -> Option<Pressure> {
        let (system, node) = self.systems.nodes[node]?;
        gauge(self.solution(system)?, node)
    }

    fn known(&self, system: SystemId, node: NodeId) -> Option<Pressure> {
        let uncertain = self.system(system).uncertain.as_ref();
        if uncertain.is_some_and(|uncertain| uncertain.nodes[node]) {
            return None;
        }
        gauge(self.solution(system)?, node)
    }

    /// Bounds of the outlet pressure of a regulator that is out of regulation. `None` where it regulates or nothing is
    /// known.
    pub fn outlet_bounds(&self, regulator: ThingId) -> Option<OutletBounds> {
        let (system, link) = self.systems.edges[self.graph.through[regulator]?]?;
        regulation::outlet_bounds(&self.system(system).network, self.solution(system)?, link)
    }

    /// What passes along an edge. `None` where that is not known, or where it follows pressures that are not.
    pub(crate) fn link(&self, edge: AirEdge) -> Option<LinkState> {
        let (system, _) = self.systems.edges[edge]?;
        if self.are_flows_uncertain(system) {
            return None;
        }
        self.computed_link(edge)
    }

    /// In the normal state the flows equal the usage, whatever the pressures.
    fn are_flows_uncertain(&self, system: SystemId) -> bool {
        let follows = !self.graph.leakage.is_empty() || !self.graph.leaks.is_empty() || !self.graph.open.is_empty();
        follows
            && self
                .system(system)
                .uncertain
                .as_ref()
                .is_some_and(|uncertain| uncertain.flows)
    }

    fn computed_link(&self, edge: AirEdge) -> Option<LinkState> {
        let (system, link) = self.systems.edges[edge]?;
        let state = self.solution(system)?.link(link)?;
        Some(LinkState {
            flow: settled(state.flow),
            inflow: settled(state.inflow),
            outflow: settled(state.outflow),
            ..state
        })
    }

    /// Gauge pressure at the inlet of a thing.
    pub fn inlet(&self, thing: ThingId) -> Option<Pressure> {
        self.gauge(self.ports(thing)?.inlet)
    }

    /// Gauge pressure at the outlet of a thing.
    pub fn outlet(&self, thing: ThingId) -> Option<Pressure> {
        self.gauge(self.ports(thing)?.outlet)
    }

    /// Flow through a regulator, flow sensor or valve, with its other computed figures.
    pub fn through(&self, thing: ThingId) -> Option<LinkState> {
        self.link(self.graph.through[thing]?)
    }

    /// Whether a regulator regulates. `None` where no air reaches it, and where it is opened or closed.
    pub fn regulator_state(&self, regulator: ThingId) -> Option<RegulatorState> {
        self.computed_link(self.graph.through[regulator]?)?.regulator
    }

    /// Flow that a dryer delivers into the network.
    pub fn supply(&self, dryer: ThingId) -> Option<SupplyState> {
        let mut dryers = self.graph.dryers.enumerated();
        let (index, _) = dryers.find(|(_, other)| other.at == DryerLocation::Here(dryer))?;
        let (system, supply) = self.systems.dryers[index]?;
        if self.are_flows_uncertain(system) {
            return None;
        }
        let state = self.solution(system)?.supply(supply)?;
        Some(SupplyState {
            flow: settled(state.flow),
            ..state
        })
    }

    /// All cables, branches and pipes, in the order of the file.
    pub fn lines(&self) -> &[Line] {
        self.graph.lines.as_slice()
    }

    /// The line that a position is on.
    pub fn line_of(&self, office: &Office, position: &LinePosition<'_>) -> Option<&Line> {
        self.graph.line_of(office, position)
    }

    /// Gauge pressure at a distance along a line, in metres.
    pub fn pressure_along(&self, on: &Line, metres: f64) -> Option<Pressure> {
        let segment = on.segment_at(metres)?;
        let (system, link) = self.systems.edges[segment.edge]?;
        let start = self.start_of(system, link)?;
        let inside = Length::from_metres((metres - segment.from).clamp(0.0, segment.to - segment.from));
        // A segment without flow may be solved without its law; its pressure is then the same throughout.
        let inside = self.solution(system)?.profile(link, inside);
        Some(inside.map_or(start, |pressure| without_noise(pressure - self.conditions.ambient)))
    }

    /// Flow at a distance along a line in metres, positive away from the line's beginning.
    pub fn flow_along(&self, on: &Line, metres: f64) -> Option<Flow> {
        let segment = on.segment_at(metres)?;
        let state = self.link(segment.edge)?;
        if self.graph.leakage.contains_key(&segment.edge) {
            let (system, link) = self.systems.edges[segment.edge]?;
            let inside = Length::from_metres((metres - segment.from).clamp(0.0, segment.to - segment.from));
            return self.solution(system)?.flow_inside(link, inside).map(settled);
        }
        let length = segment.to - segment.from;
        let part = if length > 0.0 {
            ((metres - segment.from) / length).clamp(0.0, 1.0)
        } else {
            0.0
        };
        Some(state.inflow * (1.0 - part) + state.outflow * part)
    }

    /// The point of lowest gauge pressure in a section or pipe: distance along the line in metres, and the pressure.
    /// `None` unless the whole section is known.
    pub fn lowest(&self, on: &Line, section: &LineSection) -> Option<(f64, Pressure)> {
        let mut segments = on.segments_of(section);
        segments.all(|segment| self.is_known(segment)).then_some(())?;
        self.lowest_at_most(on, section)
    }

    /// As [`Self::lowest`], but of what is known of the section.
    pub fn lowest_known(&self, on: &Line, section: &LineSection) -> Option<(f64, Pressure)> {
        let known = on.segments_of(section).filter(|segment| self.is_known(segment));
        self.lowest_of(known)
    }

    fn is_known(&self, segment: &Segment) -> bool {
        let place = self.systems.edges[segment.edge];
        place.is_some_and(|(system, link)| self.start_of(system, link).is_some())
    }

    /// As [`Self::lowest`], but downstream of a regulator out of regulation it gives the upper bound.
    pub fn lowest_at_most(&self, on: &Line, section: &LineSection) -> Option<(f64, Pressure)> {
        self.lowest_of(on.segments_of(section))
    }

    fn lowest_of<'l>(&self, segments: impl Iterator<Item = &'l Segment>) -> Option<(f64, Pressure)> {
        let mut lowest: Option<(f64, Pressure)> = None;
        for segment in segments {
            let (system, link) = self.systems.edges[segment.edge]?;
            let (start, _) = self.system(system).network.ends(link);
            let start = gauge(self.solution(system)?, start)?;
            let (inside, pressure) = match self.solution(system)?.lowest(link) {
                Some((inside, pressure)) => (inside.metres(), without_noise(pressure - self.conditions.ambient)),
                None => (0.0, start),
            };
            if lowest.is_none_or(|(_, least)| pressure < least) {
                lowest = Some((segment.from + inside, pressure));
            }
        }
        lowest
    }

    /// The point of highest gauge pressure on a line, as far as known: distance from its beginning in metres, and the
    /// upper bound of the pressure. Only segment ends need checking, since usage makes the pressure fall within a
    /// segment.
    pub fn highest(&self, on: &Line) -> Option<(f64, Pressure)> {
        let mut highest: Option<(f64, Pressure)> = None;
        let ends = |segment: &Segment| {
            let edge = self.graph.edges[segment.edge];
            [(segment.from, edge.from), (segment.to, edge.to)]
        };
        let is_known = |segment: &&Segment| self.systems.edges[segment.edge].is_some();
        for (metres, node) in on.segments.iter().filter(is_known).flat_map(ends) {
            if let Some(pressure) = self.gauge_at_most(node)
                && highest.is_none_or(|(_, most)| pressure > most)
            {
                highest = Some((metres, pressure));
            }
        }
        highest
    }

    /// The segments of a line from its beginning: start and end in metres, and the computed state.
    pub fn segments<'a>(&'a self, on: &'a Line) -> impl Iterator<Item = (f64, f64, Option<LinkState>)> + 'a {
        let segments = on.segments.iter();
        segments.map(|segment| (segment.from, segment.to, self.link(segment.edge)))
    }

    /// The computed state of each piece of the air runs, in the order of [`drysheath_office::Links::pieces`].
    pub fn runs(&self) -> impl Iterator<Item = Option<LinkState>> + '_ {
        self.graph.runs.iter().map(|edge| self.link((*edge)?))
    }

    /// Gauge pressure at the start of a link that a source reaches with the valves in their normal state.
    fn start_of(&self, system: SystemId, link: LinkId) -> Option<Pressure> {
        let (start, _) = self.system(system).network.ends(link);
        self.known(system, start)
    }

    /// The point where a sensor or contact senses the air: the end of its air run, or else its own location.
    pub fn location_of(&self, office: &Office, networks: &Networks, thing: ThingId) -> Option<AirLocation<'_>> {
        self.graph.location_of(office, networks, thing)
    }

    /// Gauge pressure at a location.
    pub fn pressure(&self, location: &AirLocation<'_>) -> Option<Pressure> {
        match location {
            AirLocation::Thing(thing) => self.inlet(*thing),
            AirLocation::OnLine(on, metres) => self.pressure_along(on, *metres),
        }
    }

    /// Flow at a location: through a thing, or along a line, positive away from its beginning.
    pub fn flow(&self, location: &AirLocation<'_>) -> Option<Flow> {
        match location {
            AirLocation::Thing(thing) => Some(self.through(*thing)?.flow),
            AirLocation::OnLine(on, metres) => self.flow_along(on, *metres),
        }
    }

    /// The connected system that a location belongs to.
    pub fn system_at(&self, location: &AirLocation<'_>) -> Option<SystemId> {
        let system = match location {
            AirLocation::Thing(thing) => self.systems.nodes[self.ports(*thing)?.inlet]?.0,
            AirLocation::OnLine(on, metres) => self.systems.edges[on.segment_at(*metres)?.edge]?.0,
        };
        Some(system)
    }

    /// The connected systems for which something can be computed.
    pub fn systems(&self) -> impl ExactSizeIterator<Item = SystemId> + use<> {
        self.systems.all.keys()
    }

    /// Total usage of a system. `None` where it is not known.
    pub fn usage(&self, system: SystemId) -> Option<Flow> {
        Some(self.solution(system)?.usage())
    }

    /// Dryers in other offices that feed a system through a route: index of the office among the neighbours, and the
    /// dryer.
    pub fn dryers_elsewhere(&self, system: SystemId) -> impl Iterator<Item = (usize, ThingId)> + '_ {
        let is_of_system = move |node: AirNode| self.systems.nodes[node].is_some_and(|(other, _)| other == system);
        let dryers = self.graph.dryers.iter().filter(move |dryer| is_of_system(dryer.node));
        dryers.filter_map(|dryer| match dryer.at {
            DryerLocation::Here(_) => None,
            DryerLocation::Elsewhere(neighbour, thing) => Some((neighbour, thing)),
        })
    }

    /// The dryers of a system, in the order of the file.
    pub fn dryers(&self, system: SystemId) -> impl Iterator<Item = ThingId> + '_ {
        let is_of_system = move |node: AirNode| self.systems.nodes[node].is_some_and(|(other, _)| other == system);
        let dryers = self.graph.dryers.iter();
        dryers
            .filter(move |dryer| is_of_system(dryer.node))
            .filter_map(|dryer| dryer.at.here())
    }
}

/// Returns zero for flows that are rounding residue or the solver's leak through closed valves: below a
/// hundred-thousandth of the resolution of the finest flow sensor, 2e-6 scfh.
fn settled(flow: Flow) -> Flow {
    const NO_FLOW: f64 = 1.5e-11;
    let is_none = flow.cubic_metres_per_second().abs() < NO_FLOW;
    if is_none {
        Flow::from_cubic_metres_per_second(0.0)
    } else {
        flow
    }
}

fn gauge(solution: &Solution, node: NodeId) -> Option<Pressure> {
    let state = solution.node(node)?;
    (!state.trapped).then(|| without_noise(state.gauge))
}

/// Returns zero for gauge pressures that are only rounding residue.
fn without_noise(gauge: Pressure) -> Pressure {
    /// Gauge pressure below which a point counts as without pressure, Pa.
    const NO_PRESSURE: f64 = 0.1;
    if gauge.pascals().abs() < NO_PRESSURE {
        Pressure::from_pascals(0.0)
    } else {
        gauge
    }
}
