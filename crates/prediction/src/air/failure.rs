//! Systems that the solver could not solve although no input is missing.

use drysheath_engineering::network::{LinkId, NetworkElement, NoSolution, NodeId};

use super::graph::EdgeOrigin;
use super::{Air, SystemId};
use crate::line::Line;

/// A system that could not be solved.
#[derive(Debug)]
pub struct Failure<'a> {
    /// The system that could not be computed.
    pub system: SystemId,
    /// The solver's reason; its `Display` is a message for users.
    pub why: &'a NoSolution,
    /// The place it is about: a line, and the distance in metres from its beginning. `None` where the system has no
    /// line; no such office is known, since only lines use air and only their figures can contradict one another.
    pub at: Option<(&'a Line, f64)>,
}

impl Air {
    /// The systems that could not be solved although no input is missing.
    pub fn failures(&self) -> impl Iterator<Item = Failure<'_>> {
        self.systems.all.enumerated().filter_map(|(system, computed)| {
            let why = computed.solution.as_ref().err()?;
            let network = &computed.network;
            let at = match why.piece() {
                NetworkElement::Link(link) => self
                    .place_on_line(system, link, 0.5)
                    .or_else(|| self.nearest_line(system, network.ends(link).0)),
                NetworkElement::Node(node) => self.nearest_line(system, node),
                NetworkElement::Supply(_) | NetworkElement::Leak(_) | NetworkElement::Conditions => None,
            };
            Some(Failure { system, why, at })
        })
    }

    /// The point on a line that is nearest to a node, counted in links. A valve or tube without flow at the end of a
    /// line has the same pressure as that end, so the solver may name its node instead.
    fn nearest_line(&self, system: SystemId, node: NodeId) -> Option<(&Line, f64)> {
        let network = &self.system(system).network;
        let mut seen = vec![node];
        let mut next = 0;
        while let Some(node) = seen.get(next).copied() {
            next += 1;
            for link in network.links_at(node) {
                let (from, to) = network.ends(link);
                let (part, other) = if to == node { (1.0, from) } else { (0.0, to) };
                if let Some(place) = self.place_on_line(system, link, part) {
                    return Some(place);
                }
                if !seen.contains(&other) {
                    seen.push(other);
                }
            }
        }
        None
    }

    /// The point on the line that a link belongs to, at `part` of the link's length.
    fn place_on_line(&self, system: SystemId, link: LinkId, part: f64) -> Option<(&Line, f64)> {
        match self.graph.edges[self.system(system).links[link]].of {
            EdgeOrigin::Line(number, from, to) => Some((&self.graph.lines[number], from + part * (to - from))),
            EdgeOrigin::Run(_) | EdgeOrigin::Thing(_) | EdgeOrigin::Joint | EdgeOrigin::Elsewhere(_) => None,
        }
    }
}
