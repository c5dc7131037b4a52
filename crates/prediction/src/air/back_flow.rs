//! Stopped sources that air may flow back into.
//!
//! A stopped source is computed as giving and taking nothing. That is so where a check valve or a regulator stands before it; elsewhere
//! air of other sources, and what cables, pipes and tanks hold, may leave through it, and every figure of the state needs that said.

use drysheath_engineering::index::IndexVec;
use drysheath_office::kinds::KindId;
use drysheath_office::{Office, ThingId};

use super::Air;
use super::graph::{AirGraph, AirNode, DryerLocation, EdgeOrigin};

/// That air may flow back into a source, for whoever reads figures of a state: "nothing keeps air from flowing back into `d1`: …".
pub fn back_flow_note(source: &str) -> String {
    format!(
        "nothing keeps air from flowing back into {source}: what leaves there is not counted, so that pressures may fall sooner and further"
    )
}

impl Air {
    /// Those of some sources that air may flow back into once all of them stop, since neither a check valve, a regulator nor a closed
    /// valve prevents it.
    pub fn back_flow(&self, office: &Office, stopped: &[ThingId]) -> Vec<ThingId> {
        let may_take = |source: &&ThingId| {
            let Some(ports) = self.graph.ports[**source] else {
                return false;
            };
            let senders = self.graph.senders(vec![ports.outlet]);
            let mut running = self.graph.dryers.iter().filter(|dryer| match dryer.at {
                DryerLocation::Here(thing) => !stopped.contains(&thing),
                DryerLocation::Elsewhere(..) => true,
            });
            running.any(|dryer| senders[dryer.node]) || self.graph.holds_air(office, &senders)
        };
        stopped.iter().filter(may_take).copied().collect()
    }
}

impl AirGraph {
    /// Whether a cable, pipe or tank is at one of some nodes.
    fn holds_air(&self, office: &Office, at: &IndexVec<AirNode, bool>) -> bool {
        let is_line = |of| matches!(of, EdgeOrigin::Line(..) | EdgeOrigin::Elsewhere(_));
        let mut lines = self.edges.iter().filter(|edge| is_line(edge.of));
        let mut tanks = office.of_kind(KindId::Tank).filter_map(|(id, _)| self.ports[id]);
        lines.any(|edge| at[edge.from] || at[edge.to]) || tanks.any(|ports| at[ports.inlet])
    }
}
