//! The path of air to a place.

use drysheath_engineering::measure::{Length, Pressure};
use drysheath_engineering::network::LinkState;
use drysheath_office::ThingId;

use crate::air::graph::{AirEdge, AirNode, EdgeOrigin};
use crate::air::{Air, AirLocation};
use crate::line::{Line, POSITION_TOLERANCE};

/// An element that air passes on its path.
#[derive(Clone, Copy, Debug)]
pub enum PathElement<'a> {
    /// A piece of an air run, by its index in the order of [`drysheath_office::Links::pieces`].
    Run(usize),
    /// A regulator, flow sensor or valve.
    Thing(ThingId),
    /// A part of a line between two distances in metres, in the direction of flow.
    OnLine(&'a Line, f64, f64),
    /// The point where a branch leaves its trunk.
    Joint,
}

/// One step of a path, with the gauge pressures before and behind it.
#[derive(Clone, Copy, Debug)]
pub struct PathStep<'a> {
    /// The element that air passes.
    pub element: PathElement<'a>,
    /// Computed flow and state of the link.
    pub state: LinkState,
    /// Gauge pressure where the air enters.
    pub before: Pressure,
    /// Gauge pressure where the air leaves.
    pub after: Pressure,
}

/// The source of a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PathSource {
    /// A dryer or bottle of the office.
    Dryer(ThingId),
    /// Another office, by its index among the neighbours, and the gauge pressure where its air enters.
    Elsewhere(usize, Pressure),
}

/// The path of air from a dryer to a place.
#[derive(Debug)]
pub struct SupplyPath<'a> {
    /// The dryer or office at its start.
    pub source: PathSource,
    /// The steps from the dryer on.
    pub steps: Vec<PathStep<'a>>,
}

impl Air {
    /// The path by which most of the air reaches a location. `None` where nothing is known of it.
    pub fn supply_path<'a>(&'a self, location: &AirLocation<'a>) -> Option<SupplyPath<'a>> {
        let graph = self.graph();
        let mut steps = Vec::new();
        let mut node = match location {
            AirLocation::Thing(thing) => graph.ports[*thing]?.inlet,
            AirLocation::OnLine(line, metres) => {
                let segment = line.segment_at(*metres)?;
                let state = self.link(segment.edge)?;
                let backwards = self.flow_along(line, *metres)?.cubic_metres_per_second() < 0.0;
                let start = if backwards { segment.to } else { segment.from };
                let (before, after) = (self.pressure_along(line, start)?, self.pressure_along(line, *metres)?);
                let step = PathStep {
                    element: PathElement::OnLine(line, start, *metres),
                    // Up to the place, not to where the segment ends.
                    state: LinkState {
                        flow: self.flow_along(line, f64::midpoint(start, *metres))?,
                        length: state.length.map(|_| Length::from_metres((start - metres).abs())),
                        mean: self.conditions.ambient + before * 0.5 + after * 0.5,
                        ..state
                    },
                    before,
                    after,
                };
                if (start - metres).abs() > POSITION_TOLERANCE {
                    steps.push(step);
                }
                let edge = graph.edges[segment.edge];
                if backwards { edge.to } else { edge.from }
            }
        };
        // No path passes a node twice.
        for _ in 0..graph.nodes {
            let dryer = graph.dryers.iter().find(|dryer| dryer.node == node);
            if let Some(thing) = dryer.and_then(|dryer| dryer.at.here()) {
                steps.reverse();
                let source = PathSource::Dryer(thing);
                return Some(SupplyPath { source, steps });
            }
            let (edge, forwards) = self.strongest_into(node)?;
            if let EdgeOrigin::Elsewhere(neighbour) = graph.edges[edge].of {
                steps.reverse();
                let source = PathSource::Elsewhere(neighbour, self.gauge(node)?);
                return Some(SupplyPath { source, steps });
            }
            let ends = graph.edges[edge];
            let (near, far) = if forwards {
                (ends.from, ends.to)
            } else {
                (ends.to, ends.from)
            };
            steps.push(PathStep {
                element: self.element(edge, forwards),
                state: self.link(edge)?,
                before: self.gauge(near)?,
                after: self.gauge(far)?,
            });
            node = near;
        }
        None
    }

    /// The edge that brings most air to a node, and whether it flows along the edge's own direction. Where nothing
    /// flows, any edge that leads on.
    fn strongest_into(&self, node: AirNode) -> Option<(AirEdge, bool)> {
        let mut best: Option<(f64, AirEdge, bool)> = None;
        for (id, edge) in self.graph().edges.enumerated() {
            if edge.from != node && edge.to != node {
                continue;
            }
            let Some(state) = self.link(id) else { continue };
            let forwards = edge.from != node;
            let flow = if forwards { state.outflow } else { state.inflow * -1.0 };
            let flow = flow.cubic_metres_per_second();
            if best.is_none_or(|(most, ..)| flow > most) {
                best = Some((flow, id, forwards));
            }
        }
        best.map(|(_, edge, forwards)| (edge, forwards))
    }

    fn element(&self, edge: AirEdge, forwards: bool) -> PathElement<'_> {
        let graph = self.graph();
        match graph.edges[edge].of {
            EdgeOrigin::Run(run) => PathElement::Run(run),
            EdgeOrigin::Thing(thing) => PathElement::Thing(thing),
            EdgeOrigin::Line(line, from, to) => {
                let (from, to) = if forwards { (from, to) } else { (to, from) };
                PathElement::OnLine(&graph.lines[line], from, to)
            }
            EdgeOrigin::Joint | EdgeOrigin::Elsewhere(_) => PathElement::Joint,
        }
    }
}
