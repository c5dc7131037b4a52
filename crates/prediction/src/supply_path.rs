//! The way that air takes to a place.

use drysheath_engineering::measure::Pressure;
use drysheath_engineering::network::LinkState;
use drysheath_office::ThingId;

use crate::air::{Air, AirLocation};
use crate::route::Route;

/// What air passes on its way.
#[derive(Clone, Copy, Debug)]
pub enum PathElement<'a> {
    /// A stretch of an air run, as its number among the links of [`drysheath_office::Networks::air`].
    Run(u32),
    /// A regulator, flow sensor or valve.
    Thing(ThingId),
    /// A part of a line between two distances, in the direction of the air.
    OnRoute(&'a Route, f64, f64),
    /// The place where a branch leaves its trunk.
    Joint,
}

/// One step of the way: what it is, its figures, and the pressures above the surrounding air before and behind it.
#[derive(Clone, Copy, Debug)]
pub struct PathStep<'a> {
    /// What it is.
    pub leg: PathElement<'a>,
    /// Its figures.
    pub state: LinkState,
    /// Pressure before it.
    pub before: Pressure,
    /// Pressure behind it.
    pub after: Pressure,
}

/// A way from a dryer.
#[derive(Debug)]
pub struct SupplyPath<'a> {
    /// The dryer.
    pub dryer: ThingId,
    /// The steps from it.
    pub steps: Vec<PathStep<'a>>,
}

impl Air {
    /// The way that most of the air takes to a place. None where nothing is known of the place.
    pub fn supply_path<'a>(&'a self, place: &AirLocation<'a>) -> Option<SupplyPath<'a>> {
        let mut steps = Vec::new();
        let mut at = match place {
            AirLocation::Thing(thing) => self.inlet_node(*thing)?,
            AirLocation::OnRoute(line, metres) => {
                let piece = line.piece_at(*metres)?;
                let state = self.link(piece.edge)?;
                let backwards = self.flow_along(line, *metres)?.cubic_metres_per_second() < 0.0;
                let start = if backwards { piece.to } else { piece.from };
                let leg = PathElement::OnRoute(line, start, *metres);
                let step = PathStep {
                    leg,
                    state,
                    before: self.pressure_along(line, start)?,
                    after: self.pressure_along(line, *metres)?,
                };
                if (start - metres).abs() > crate::route::LEEWAY {
                    steps.push(step);
                }
                let (from, to) = self.nodes_of(piece.edge)?;
                if backwards { to } else { from }
            }
        };
        for _ in 0..self.node_count() {
            if let Some(dryer) = self.dryer_at(at) {
                steps.reverse();
                return Some(SupplyPath { dryer, steps });
            }
            let (edge, forwards) = self.strongest_into(at)?;
            let (from, to) = self.nodes_of(edge)?;
            let (near, far) = if forwards { (from, to) } else { (to, from) };
            steps.push(PathStep {
                leg: self.leg_of(edge, forwards),
                state: self.link(edge)?,
                before: self.gauge(near)?,
                after: self.gauge(far)?,
            });
            at = near;
        }
        None
    }

    /// The edge that brings most air to a node, and whether along its own direction. Where nothing flows, any edge that
    /// leads on.
    fn strongest_into(&self, node: u32) -> Option<(u32, bool)> {
        let mut best: Option<(f64, u32, bool)> = None;
        for edge in self.edges_at(node) {
            let Some(state) = self.link(edge) else { continue };
            let (from, _) = self.nodes_of(edge)?;
            let forwards = from != node;
            let flow = if forwards { state.outflow } else { state.inflow * -1.0 };
            let flow = flow.cubic_metres_per_second();
            if best.is_none_or(|(most, ..)| flow > most) {
                best = Some((flow, edge, forwards));
            }
        }
        best.map(|(_, edge, forwards)| (edge, forwards))
    }

    fn leg_of(&self, edge: u32, forwards: bool) -> PathElement<'_> {
        if let Some(run) = self.run_of(edge) {
            return PathElement::Run(run);
        }
        if let Some(thing) = self.thing_of(edge) {
            return PathElement::Thing(thing);
        }
        for line in self.routes() {
            if let Some(piece) = line.pieces.iter().find(|piece| piece.edge == edge) {
                let (from, to) = if forwards {
                    (piece.from, piece.to)
                } else {
                    (piece.to, piece.from)
                };
                return PathElement::OnRoute(line, from, to);
            }
        }
        PathElement::Joint
    }
}
