//! The air network with one more leak in it.

use drysheath_engineering::measure::{Flow, Length, Pressure};
use drysheath_engineering::network::{LinkId, Network, NodeId, Solution, solve};

use super::{Air, AirLocation, SystemId, gauge};
use crate::line::Line;

/// The air network computed again with one more leak in it.
pub struct Leaking<'a> {
    air: &'a Air,
    system: SystemId,
    solution: Solution,
    leak: NodeId,
    parted: Option<Parted>,
    /// Whether the network can feed all of that leak. If not, its place is as open as it can be: without pressure.
    pub is_fed: bool,
}

/// A link that the leak divides.
#[derive(Clone, Copy)]
struct Parted {
    before: LinkId,
    behind: LinkId,
    /// Distance of the leak from the start of the link, in metres.
    at: f64,
}

impl Air {
    /// The same network with one more leak of a given flow at a location, or of as much as the network can feed there.
    pub fn leaking(&self, location: &AirLocation<'_>, leak: Flow) -> Option<Leaking<'_>> {
        let (system, mut network, at, parted) = match location {
            AirLocation::Thing(thing) => {
                let (system, node) = self.systems.nodes[self.ports(*thing)?.inlet]?;
                (system, self.system(system).network.clone(), node, None)
            }
            AirLocation::OnLine(on, metres) => {
                let segment = on.segment_at(*metres)?;
                let (system, link) = self.systems.edges[segment.edge]?;
                let mut network = self.system(system).network.clone();
                // A distance that a section ends at may be a rounding beyond it.
                let inside = (metres - segment.from).clamp(0.0, segment.to - segment.from);
                let node = network.split(link, Length::from_metres(inside))?;
                (system, network.clone(), node, parted(&network, link, node, inside))
            }
        };
        network.demand(at, leak);
        let fed = solve(&network, &self.conditions).ok();
        // Air leaves by a hole only while the pressure inside is above that outside.
        let fed = fed.filter(|solution| gauge(solution, at).is_some_and(|pressure| pressure.pascals() >= 0.0));
        let is_fed = fed.is_some();
        let solution = match fed {
            Some(solution) => solution,
            None => {
                network.demand(at, leak * -1.0);
                network.hold(at, Pressure::from_pascals(0.0));
                solve(&network, &self.conditions).ok()?
            }
        };
        Some(Leaking {
            air: self,
            system,
            solution,
            leak: at,
            parted,
            is_fed,
        })
    }
}

fn parted(network: &Network, before: LinkId, node: NodeId, at: f64) -> Option<Parted> {
    let behind = network.links_at(node).find(|link| *link != before)?;
    Some(Parted { before, behind, at })
}

impl Leaking<'_> {
    /// Pressure above the surrounding air at the leak.
    pub fn pressure(&self) -> Option<Pressure> {
        gauge(&self.solution, self.leak)
    }

    /// Pressure above the surrounding air at a location. None in another system.
    pub fn pressure_at(&self, location: &AirLocation<'_>) -> Option<Pressure> {
        match location {
            AirLocation::Thing(thing) => {
                let (system, node) = self.air.systems.nodes[self.air.ports(*thing)?.inlet]?;
                (system == self.system).then_some(())?;
                gauge(&self.solution, node)
            }
            AirLocation::OnLine(on, metres) => {
                let (link, inside) = self.link_at(on, *metres)?;
                let pressure = self.solution.profile(link, Length::from_metres(inside))?;
                Some(pressure - self.air.conditions.ambient)
            }
        }
    }

    /// Flow at a location: through a thing, or along a line away from its beginning. None in another system.
    pub fn flow_at(&self, location: &AirLocation<'_>) -> Option<Flow> {
        match location {
            AirLocation::Thing(thing) => {
                let (system, link) = self.air.systems.edges[self.air.graph.through[*thing]?]?;
                (system == self.system).then_some(())?;
                Some(self.solution.link(link)?.flow)
            }
            AirLocation::OnLine(on, metres) => {
                let (link, inside) = self.link_at(on, *metres)?;
                let state = self.solution.link(link)?;
                let length = state.length?.metres();
                let part = if length > 0.0 { (inside / length).min(1.0) } else { 0.0 };
                Some(state.inflow * (1.0 - part) + state.outflow * part)
            }
        }
    }

    /// The link that a distance along a line lies in, and how far from its start, in metres.
    fn link_at(&self, on: &Line, metres: f64) -> Option<(LinkId, f64)> {
        let segment = on.segment_at(metres)?;
        let (system, link) = self.air.systems.edges[segment.edge]?;
        (system == self.system).then_some(())?;
        let inside = (metres - segment.from).clamp(0.0, segment.to - segment.from);
        let (link, inside) = match self.parted.filter(|parted| parted.before == link) {
            Some(parted) if inside > parted.at => (parted.behind, inside - parted.at),
            Some(parted) => (link, inside.min(parted.at)),
            None => (link, inside),
        };
        // The parts of a link may be a rounding shorter than the whole.
        let length = self.solution.link(link)?.length?.metres();
        Some((link, inside.min(length)))
    }
}
