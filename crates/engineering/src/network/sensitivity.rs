//! A solved network, and the derivatives of its pressures and flows.
//!
//! The balances F(P, x) of the nodes are zero at the solution for any x, so dP/dx = −(∂F/∂P)⁻¹·∂F/∂x (implicit function
//! theorem). The matrix is that of Newton's last step: each derivative costs one back-substitution and no further
//! solution.

use super::laws::Law;
use super::live::{LiveLink, LiveNode};
use super::solver::{NewtonSolver, settled};
use super::{Conditions, LinkId, Network, NetworkElement, NoSolution, NodeId, SupplyId, capacity};
use crate::index::IndexVec;

/// A figure of a network by which derivatives are taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Parameter {
    /// Usage along a tube or section, m³/s.
    Usage(LinkId),
    /// Natural logarithm of the resistance of a section, whose flow is laminar.
    Resistance(LinkId),
    /// Usage at a node, m³/s.
    Demand(NodeId),
    /// Set pressure of a regulator, Pa.
    Set(LinkId),
    /// Pressure of a supply, Pa.
    Delivers(SupplyId),
}

/// A solved network that can compute derivatives.
pub struct Sensitivity {
    solver: NewtonSolver,
    links: IndexVec<LinkId, Option<LiveLink>>,
}

/// Changes of a network's figures with a cause, per unit of that.
pub struct Response<'s> {
    of: &'s Sensitivity,
    squared: IndexVec<LiveNode, f64>,
    /// Change of the flow in each link at unchanged pressures.
    own: Vec<(LiveLink, f64)>,
    /// The part of it due to usage: half of the difference between the flows at the two ends.
    usage: Vec<(LiveLink, f64)>,
}

impl Sensitivity {
    /// Solves a network.
    ///
    /// # Errors
    ///
    /// [`NoSolution`] as in [`super::solve`], and if the demand exceeds the capacity of supplies.
    pub fn new(network: &Network, conditions: &Conditions) -> Result<Self, NoSolution> {
        let impossible = |why| NoSolution::Impossible {
            piece: NetworkElement::Conditions,
            why,
        };
        let mut solver = settled(network, conditions)?;
        let mut links = IndexVec::filled(None, network.links());
        for (here, id) in solver.live.links.enumerated() {
            links[*id] = Some(here);
        }
        capacity::limit_to_capacities(&mut solver, network)
            .ok_or(impossible("supplies are asked for more than they can give"))?;
        if !solver.factor() {
            return Err(impossible(
                "the pressures do not depend on what the network is made of in one way",
            ));
        }
        Ok(Self { solver, links })
    }

    /// Absolute pressure at a node, Pa. `None` if no air reaches it.
    pub fn pressure(&self, node: NodeId) -> Option<f64> {
        Some(self.solver.squared[self.solver.live.nodes[node]?].max(0.0).sqrt())
    }

    /// Flow into the start of a link in the direction of its arrow, and out of its end, m³/s. `None` if no air reaches
    /// it.
    pub fn flows(&self, link: LinkId) -> Option<(f64, f64)> {
        let link = self.links[link]?;
        let (through, half) = (self.solver.flows[link].flow, self.solver.live.laws[link].usage() / 2.0);
        Some((through + half, through - half))
    }

    /// The combined effect of some causes, each with its weight. A cause where no air is has no effect.
    pub fn response(&mut self, causes: impl IntoIterator<Item = (Parameter, f64)>) -> Response<'_> {
        let mut out: IndexVec<LiveNode, f64> = IndexVec::filled(0.0, self.solver.squared.len());
        let (mut own, mut usage) = (Vec::new(), Vec::new());
        let live = &self.solver.live;
        for (parameter, weight) in causes {
            match parameter {
                Parameter::Usage(link) => {
                    let Some(link) = self.links[link] else { continue };
                    let edge = live.edges[link];
                    out[edge.from] += weight / 2.0;
                    out[edge.to] += weight / 2.0;
                    usage.push((link, weight / 2.0));
                }
                Parameter::Resistance(link) => {
                    let Some(link) = self.links[link] else { continue };
                    own.push((link, -weight * self.solver.flows[link].flow));
                }
                Parameter::Demand(node) => {
                    let Some(node) = live.nodes[node] else { continue };
                    out[node] += weight;
                }
                Parameter::Set(link) => {
                    let Some(link) = self.links[link] else { continue };
                    let edge = live.edges[link];
                    let Law::Regulator(valve) = &live.laws[link] else {
                        continue;
                    };
                    // On the droop line the flow depends on the set pressure minus the outlet pressure.
                    if !valve.is_wide_open(self.solver.squared[edge.from], self.solver.squared[edge.to]) {
                        let behind = self.solver.flows[link].behind;
                        own.push((
                            link,
                            weight * behind * 2.0 * self.solver.squared[edge.to].max(0.0).sqrt(),
                        ));
                    }
                }
                Parameter::Delivers(supply) => {
                    let Some(boundary) = live.supplies[supply] else {
                        continue;
                    };
                    let (node, _) = live.boundaries[boundary];
                    let slope = self.solver.outflows[boundary].slope;
                    out[node] -= weight * slope * 2.0 * self.solver.squared[node].max(0.0).sqrt();
                }
            }
        }
        for (link, flow) in &own {
            let edge = live.edges[*link];
            out[edge.from] += flow;
            out[edge.to] -= flow;
        }
        let mut squared = self.solver.linear_response(&out).clone();
        squared.iter_mut().for_each(|change| *change = -*change);
        Response {
            of: self,
            squared,
            own,
            usage,
        }
    }
}

impl Response<'_> {
    /// Change of the pressure at a node, Pa. `None` if no air reaches it.
    pub fn pressure(&self, node: NodeId) -> Option<f64> {
        let solver = &self.of.solver;
        let node = solver.live.nodes[node]?;
        let pressure = solver.squared[node].max(0.0).sqrt();
        (pressure > 0.0).then(|| self.squared[node] / (2.0 * pressure))
    }

    /// Change of the flow into the start of a link, and out of its end, m³/s. `None` if no air reaches it.
    pub fn flows(&self, link: LinkId) -> Option<(f64, f64)> {
        let link = self.of.links[link]?;
        let (edge, slopes) = (self.of.solver.live.edges[link], &self.of.solver.flows[link]);
        let sum = |of: &[(LiveLink, f64)]| -> f64 {
            let of_link = of.iter().filter(|(other, _)| *other == link);
            of_link.map(|(_, flow)| flow).sum()
        };
        let through = slopes.before * self.squared[edge.from] - slopes.behind * self.squared[edge.to] + sum(&self.own);
        let half = sum(&self.usage);
        Some((through + half, through - half))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]

    use super::super::{Link, Regulator, Section, Supply, Tube, solve};
    use super::*;
    use crate::air::Reference;
    use crate::measure::{Flow, FlowResistance, Length, PneumaticResistance, Pressure, Temperature};

    /// A dryer, a regulator and a cable of two sections with a turbulent pipe at their joint, with figures scaled by
    /// factors.
    struct Case {
        network: Network,
        nodes: [NodeId; 5],
        links: [LinkId; 4],
        supply: SupplyId,
    }

    fn case(usage: f64, resistance: f64, demand: f64, set: f64, delivers: f64) -> Case {
        let mut network = Network::new();
        let nodes = [(); 5].map(|()| network.node());
        let [dryer, office, joint, end, pipe] = nodes;
        let supply = network.supply(
            dryer,
            Supply {
                delivers: Pressure::from_pascals(delivers),
                capacity: None,
            },
        );
        let section = |usage: f64, resistance: f64| {
            Link::Section(Section {
                resistance: PneumaticResistance::from_pascal_seconds_per_m4(resistance),
                reference: Reference::default(),
                temperature: None,
                length: Length::from_metres(1_000.0),
                usage: Flow::from_cubic_metres_per_second(usage),
            })
        };
        let links = [
            network.link(
                dryer,
                office,
                Link::Regulator(Regulator {
                    set: Pressure::from_pascals(set),
                    droop: FlowResistance::from_pascal_seconds_per_m3(2e7),
                    differential: Pressure::from_pascals(3e4),
                    rated: None,
                }),
            ),
            network.link(office, joint, section(usage, resistance)),
            network.link(joint, end, section(2e-5, 4e5)),
            network.link(
                joint,
                pipe,
                Link::Tube(Tube {
                    bore: Length::from_metres(0.01),
                    length: Length::from_metres(300.0),
                    roughness: Length::from_metres(0.0),
                    usage: Flow::from_cubic_metres_per_second(0.0),
                }),
            ),
        ];
        network.demand(end, Flow::from_cubic_metres_per_second(demand));
        Case {
            network,
            nodes,
            links,
            supply,
        }
    }

    #[test]
    fn responses_are_differences_of_solutions() {
        let air = Conditions::at(Length::from_metres(0.0), Temperature::from_celsius(15.0));
        let given = [3e-5, 2e5, 1e-5, 7e4, 2e5];
        let of = |figures: [f64; 5]| {
            let [usage, resistance, demand, set, delivers] = figures;
            case(usage, resistance, demand, set, delivers)
        };
        let Case {
            network,
            nodes,
            links,
            supply,
        } = of(given);
        let mut found = Sensitivity::new(&network, &air).unwrap();
        let [regulator, first, ..] = links;
        let causes = [
            Parameter::Usage(first),
            Parameter::Resistance(first),
            Parameter::Demand(nodes[3]),
            Parameter::Set(regulator),
            Parameter::Delivers(supply),
        ];
        for (number, parameter) in causes.into_iter().enumerate() {
            let unit = if matches!(parameter, Parameter::Resistance(_)) {
                given[1]
            } else {
                1.0
            };
            let step = 1e-4 * given[number];
            let around = [1.0, -1.0].map(|sign| {
                let mut figures = given;
                figures[number] += sign * step;
                solve(&of(figures).network, &air).unwrap()
            });
            let slope = |figure: &dyn Fn(&super::super::Solution) -> f64| {
                let [above, below] = &around;
                (figure(above) - figure(below)) / (2.0 * step) * unit
            };
            let close = |own: f64, other: f64, scale: f64, what: &str| {
                assert!(
                    (own - other).abs() <= 1e-5 * scale + 1e-5 * other.abs(),
                    "{parameter:?} {what}: {own} {other}"
                );
            };
            let pressures = nodes.map(|node| slope(&|solution| solution.pressure(node).unwrap().pascals()));
            let largest = pressures.iter().fold(0.0_f64, |most, slope| most.max(slope.abs()));
            let flows = links.map(|link| {
                let inflow = slope(&|solution| solution.link(link).unwrap().inflow.cubic_metres_per_second());
                let outflow = slope(&|solution| solution.link(link).unwrap().outflow.cubic_metres_per_second());
                (inflow, outflow)
            });
            let most = flows.iter().fold(1e-9_f64, |most, (flow, _)| most.max(flow.abs()));
            let response = found.response([(parameter, 1.0)]);
            for (node, slope) in nodes.into_iter().zip(pressures) {
                close(response.pressure(node).unwrap(), slope, largest, "pressure");
            }
            for (link, (inflow, outflow)) in links.into_iter().zip(flows) {
                let own = response.flows(link).unwrap();
                close(own.0, inflow, most, "inflow");
                close(own.1, outflow, most, "outflow");
            }
        }
    }
}
