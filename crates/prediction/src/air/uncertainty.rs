//! Bounds of a computed pressure or flow that follow from the uncertainty of the declared figures.

use drysheath_engineering::measure::{Flow, Length, Pressure, Temperature};
use drysheath_engineering::network::{Conditions, Solution, solve};

use super::{Air, AirLocation, SystemId, gauge};

/// Uncertainty of the declared figures.
#[derive(Clone, Copy, Debug)]
pub struct Uncertainty {
    /// Relative uncertainty of the usage of sections.
    pub usage: f64,
    /// Relative uncertainty of the resistance of sections.
    pub resistance: f64,
    /// Coldest and hottest temperature of the air in the network.
    pub temperatures: (Temperature, Temperature),
}

/// Least and greatest possible value at a location.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread<T> {
    /// Least value under the uncertainties.
    pub least: T,
    /// Greatest value under the uncertainties.
    pub most: T,
}

impl Air {
    /// Bounds of the pressure at a location. The low bound is computed with the greatest usage and resistance in the
    /// hottest air, which is the most viscous; the high bound with the least of each in the coldest air.
    pub fn pressure_spread(&self, location: &AirLocation<'_>, uncertainty: &Uncertainty) -> Option<Spread<Pressure>> {
        let [low, high] = self
            .corners(location, uncertainty)?
            .map(|corner| corner.pressure(location));
        Some(Spread {
            least: low?,
            most: high?,
        })
    }

    /// Bounds of the flow at a location, computed in the same two cases. Where air comes from several sides, `least`
    /// may be greater than `most`.
    pub fn flow_spread(&self, location: &AirLocation<'_>, uncertainty: &Uncertainty) -> Option<Spread<Flow>> {
        let [high, low] = self.corners(location, uncertainty)?.map(|corner| corner.flow(location));
        Some(Spread {
            least: low?,
            most: high?,
        })
    }

    /// The system of a location, solved with the greatest and with the least usage and resistance.
    fn corners(&self, location: &AirLocation<'_>, uncertainty: &Uncertainty) -> Option<[Corner<'_>; 2]> {
        let system = self.system_at(location)?;
        let corner = |sign: f64, temperature| {
            let (usage, resistance) = (1.0 + sign * uncertainty.usage, 1.0 + sign * uncertainty.resistance);
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
        let (coldest, hottest) = uncertainty.temperatures;
        Some([corner(1.0, hottest)?, corner(-1.0, coldest)?])
    }
}

/// A system solved with altered figures.
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
