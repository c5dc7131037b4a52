//! The air network with one more leak in it.

use drysheath_engineering::measure::{AbsolutePressure, Flow, Length, Pressure};
use drysheath_engineering::network::{NodeId, Solution, solve};
use drysheath_engineering::standard::Standard;
use drysheath_office::{Networks, ThingId};

use super::{Air, AirLocation, SystemId, gauge};
use crate::route::Route;

/// The air network with one more leak in it, computed anew.
pub struct Leaking<'a> {
    air: &'a Air,
    system: SystemId,
    solution: Solution,
    leak: NodeId,
}

impl Air {
    /// The same network with one more leak of a given flow at a location.
    pub fn leaking(&self, location: &AirLocation<'_>, leak: Flow) -> Option<Leaking<'_>> {
        let (system, mut network, at) = match location {
            AirLocation::Thing(thing) => {
                let (system, node) = self.systems.nodes[self.ports(*thing)?.inlet]?;
                (system, self.system(system).network.clone(), node)
            }
            AirLocation::OnRoute(route, metres) => {
                let segment = route.segment_at(*metres)?;
                let (system, link) = self.systems.edges[segment.edge]?;
                let mut network = self.system(system).network.clone();
                // A distance that a section ends at may be a rounding beyond it.
                let inside = (metres - segment.from).clamp(0.0, segment.to - segment.from);
                let node = network.split(link, Length::from_metres(inside))?;
                (system, network, node)
            }
        };
        network.demand(at, leak);
        Some(Leaking {
            air: self,
            system,
            solution: solve(&network, &self.conditions).ok()?,
            leak: at,
        })
    }

    /// The most that the pressure above the surrounding air can be at a distance along a route with one more leak there,
    /// without computing the network anew: what the leak takes away on the route itself, before what it takes away on the
    /// path to it. None where that is not known beforehand, because air can come to the route from several sides.
    ///
    /// In laminar flow the squared pressure falls by 2·101 325 Pa·k·L·Q along a length L of resistance k, so that a leak Q
    /// lowers the squared pressure behind that length by as much.
    pub fn leaking_at_most(&self, networks: &Networks, route: &Route, metres: f64, leak: Flow) -> Option<Pressure> {
        let (system, _) = self.systems.edges[route.segment_at(metres)?.edge]?;
        let solution = self.solution(system)?;
        let air = &networks.air;
        let one_joint = || air.leaving(route.thing).next().is_none() && air.leading_to(route.thing).nth(1).is_none();
        if !self.is_tree(system) && !one_joint() {
            return None;
        }
        let (ambient, base) = (self.conditions.ambient, Standard::BASE.pressure().pascals());
        let pressure = (ambient + self.pressure_along(route, metres)?).pascals();
        let mut squared = pressure * pressure;
        for segment in route.segments.iter().take_while(|segment| segment.from < metres) {
            let (_, link) = self.systems.edges[segment.edge]?;
            let state = solution.link(link)?;
            // Air that comes from the other side does not pass here.
            if let Some(resistance) = state.resistance.filter(|_| state.flow.cubic_metres_per_second() > 0.0) {
                let length = metres.min(segment.to) - segment.from;
                let flow = leak.cubic_metres_per_second();
                squared -= 2.0 * base * resistance.pascal_seconds_per_m4() * length * flow;
            }
        }
        Some(AbsolutePressure::from_pascals(squared.max(0.0).sqrt()) - ambient)
    }
}

impl Leaking<'_> {
    /// Pressure above the surrounding air at the leak.
    pub fn pressure(&self) -> Option<Pressure> {
        gauge(&self.solution, self.leak)
    }

    /// Flow through a flow sensor, regulator or valve.
    pub fn through(&self, thing: ThingId) -> Option<Flow> {
        let edge = self.air.graph.through[thing]?;
        let (system, link) = self.air.systems.edges[edge]?;
        (system == self.system).then_some(())?;
        Some(self.solution.link(link)?.flow)
    }
}
