//! How far a pressure or flow can be from what is computed, because what it is computed from is known only so well.

use drysheath_engineering::measure::{Flow, Length, Pressure, Temperature};
use drysheath_engineering::network::{Conditions, Solution, solve};

use super::{Air, AirLocation, SystemId, gauge};

/// How well the declared figures are known.
#[derive(Clone, Copy, Debug)]
pub struct Doubt {
    /// How far usage may be from what is declared, as a part of it.
    pub usage: f64,
    /// How far the resistance of a section may be from what is declared, as a part of it.
    pub resistance: f64,
    /// The coldest and the hottest that the air in the network may be.
    pub temperatures: (Temperature, Temperature),
}

/// What a location may have, from the least to the most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread<T> {
    /// The least value that is possible.
    pub least: T,
    /// The greatest value that is possible.
    pub most: T,
}

impl Air {
    /// What the pressure at a location may be: the network is computed with as much usage and resistance as there may be in the
    /// hottest air, which is the most viscous, and with as little of each in the coldest.
    pub fn pressure_spread(&self, location: &AirLocation<'_>, doubt: &Doubt) -> Option<Spread<Pressure>> {
        let [low, high] = self.corners(location, doubt)?.map(|corner| corner.pressure(location));
        Some(Spread {
            least: low?,
            most: high?,
        })
    }

    /// What the flow at a location may be, in the same way. Where air comes from several sides, the least may be the greater.
    pub fn flow_spread(&self, location: &AirLocation<'_>, doubt: &Doubt) -> Option<Spread<Flow>> {
        let [high, low] = self.corners(location, doubt)?.map(|corner| corner.flow(location));
        Some(Spread {
            least: low?,
            most: high?,
        })
    }

    /// The system of a location with most and with least usage and resistance.
    fn corners(&self, location: &AirLocation<'_>, doubt: &Doubt) -> Option<[Corner<'_>; 2]> {
        let system = self.system_at(location)?;
        let corner = |sign: f64, temperature| {
            let (usage, resistance) = (1.0 + sign * doubt.usage, 1.0 + sign * doubt.resistance);
            let network = self.system(system).network.scaled(usage.max(0.0), resistance.max(0.0));
            let conditions = Conditions {
                temperature,
                ..self.conditions
            };
            Some(Corner {
                air: self,
                system,
                solution: solve(&network, &conditions).ok()?,
            })
        };
        let (coldest, hottest) = doubt.temperatures;
        Some([corner(1.0, hottest)?, corner(-1.0, coldest)?])
    }
}

/// A system with other figures, solved.
struct Corner<'a> {
    air: &'a Air,
    system: SystemId,
    solution: Solution,
}

impl Corner<'_> {
    fn pressure(&self, location: &AirLocation<'_>) -> Option<Pressure> {
        match location {
            AirLocation::Thing(thing) => {
                let (_, node) = self.air.systems.nodes[self.air.ports(*thing)?.inlet]?;
                gauge(&self.solution, node)
            }
            AirLocation::OnLine(on, metres) => {
                let segment = on.segment_at(*metres)?;
                let (_, link) = self.air.systems.edges[segment.edge]?;
                let inside = Length::from_metres((metres - segment.from).clamp(0.0, segment.to - segment.from));
                match self.solution.profile(link, inside) {
                    Some(pressure) => Some(pressure - self.air.conditions.ambient),
                    None => gauge(&self.solution, self.air.system(self.system).network.ends(link).0),
                }
            }
        }
    }

    fn flow(&self, location: &AirLocation<'_>) -> Option<Flow> {
        let (edge, part) = match location {
            AirLocation::Thing(thing) => (self.air.graph.through[*thing]?, 0.5),
            AirLocation::OnLine(on, metres) => {
                let segment = on.segment_at(*metres)?;
                let length = segment.to - segment.from;
                let part = if length > 0.0 {
                    (metres - segment.from) / length
                } else {
                    0.0
                };
                (segment.edge, part.clamp(0.0, 1.0))
            }
        };
        let (_, link) = self.air.systems.edges[edge]?;
        let state = self.solution.link(link)?;
        Some(state.inflow * (1.0 - part) + state.outflow * part)
    }
}
