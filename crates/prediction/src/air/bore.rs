//! The air network solved with another bore of one tube or air pipe, to choose that bore.

use drysheath_engineering::measure::{Length, Pressure};
use drysheath_engineering::network::{Link, Tube};
use drysheath_office::kinds::Key;
use drysheath_office::{Networks, Office, ThingId};

use super::Air;
use super::builder::NetworkBuilder;
use super::graph::{AirGraph, Edge, EdgeLaw, EdgeOrigin};
use super::systems::Systems;

/// The tube or pipe whose bore is varied.
#[derive(Clone, Copy, Debug)]
pub enum BoreTarget<'b> {
    /// An air pipe of the office.
    Pipe(ThingId),
    /// Tubes of air runs, by their indices in the order of [`drysheath_office::Links::pieces`].
    Tubes(&'b [usize]),
}

impl Air {
    /// Solves the normal state with `bore` for a pipe or tubes, in place of the stated bore if there is one. `None`
    /// where the length of one of them is not known.
    pub fn with_bore(&self, office: &Office, networks: &Networks, of: BoreTarget<'_>, bore: Length) -> Option<Air> {
        let mut graph = NetworkBuilder::new(office, networks).build();
        let mut is_any = false;
        for id in graph.edges.keys() {
            let edge = graph.edges[id];
            if !is_of(&graph, &edge, of) {
                continue;
            }
            is_any = true;
            graph.edges[id].law = EdgeLaw::Known(Link::Tube(Tube {
                bore,
                ..tube(office, networks, &graph, &edge)?
            }));
        }
        is_any.then(|| Air {
            conditions: self.conditions,
            systems: Systems::new(&graph, &self.conditions),
            graph,
        })
    }

    /// Pressure drop of a pipe from its beginning to its end, or of all the tubes together. `None` where it is not
    /// known.
    pub fn loss_of(&self, of: BoreTarget<'_>) -> Option<Pressure> {
        match of {
            BoreTarget::Pipe(thing) => {
                let line = self.lines().iter().find(|line| line.thing == thing)?;
                let end = self.pressure_along(line, line.length()?)?;
                Some(self.pressure_along(line, 0.0)? - end)
            }
            BoreTarget::Tubes(numbers) => {
                let drop = |number: &usize| Some(self.link((*self.graph.runs.get(*number)?)?)?.drop.pascals());
                let all: Option<f64> = numbers.iter().map(drop).sum();
                all.map(Pressure::from_pascals)
            }
        }
    }
}

fn is_of(graph: &AirGraph, edge: &Edge, of: BoreTarget<'_>) -> bool {
    match (edge.of, of) {
        (EdgeOrigin::Line(line, ..), BoreTarget::Pipe(thing)) => graph.lines[line].thing == thing,
        (EdgeOrigin::Run(number), BoreTarget::Tubes(numbers)) => numbers.contains(&number),
        _ => false,
    }
}

/// The length and roughness of a tube or piece of a pipe, as far as the file states them; the bore is still to be set.
fn tube(office: &Office, networks: &Networks, graph: &AirGraph, edge: &Edge) -> Option<Tube> {
    let (length, roughness) = match (edge.law, edge.of) {
        (EdgeLaw::Known(Link::Tube(tube)), _) => return Some(tube),
        (_, EdgeOrigin::Line(line, from, to)) => {
            let roughness = office.given(graph.lines[line].thing, Key::Roughness)?;
            (Length::from_metres(to - from), Length::of(roughness.quantity)?)
        }
        (_, EdgeOrigin::Run(number)) => {
            let (link, with) = networks.air.pieces(office).nth(number)?;
            // The length that a run states is divided evenly over its links.
            let links = u32::try_from(office.run(link.run).ends.len().saturating_sub(1))
                .ok()?
                .max(1);
            let length = Length::of(with.length?.value)?;
            (length * f64::from(links).recip(), Length::from_metres(0.0))
        }
        _ => return None,
    };
    Some(Tube {
        bore: Length::from_metres(0.0),
        length,
        roughness,
        usage: edge.law.usage()?,
    })
}
