//! Where air can come to from a dryer, whatever its pressure.

use drysheath_engineering::index::IndexVec;
use drysheath_office::{Thing, ThingId};

use crate::lint::Inspection;

/// Which way air is followed through the runs.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Direction {
    /// As the arrows point.
    Arrows,
    /// Along and against the arrows.
    Either,
}

/// The sides of things that air from the outlet of a dryer reaches: each thing, and whether it is its outlet. `passes` says whether a
/// thing lets air through that comes to its outlet, or to its inlet.
pub(super) fn reached(
    inspection: &Inspection<'_>,
    dryer: ThingId,
    passes: impl Fn(&Thing, bool) -> bool,
    direction: Direction,
) -> Vec<(ThingId, bool)> {
    let (office, air) = (inspection.office, &inspection.networks.air);
    let mut inlets = IndexVec::filled(false, office.things.len());
    let mut outlets = inlets.clone();
    let mut reached = Vec::new();
    let mut open = vec![(dryer, true)];
    while let Some((id, outlet)) = open.pop() {
        let seen = if outlet { &mut outlets } else { &mut inlets };
        if std::mem::replace(&mut seen[id], true) {
            continue;
        }
        reached.push((id, outlet));
        if passes(office.thing(id), outlet) {
            open.push((id, !outlet));
        }
        let along = air.leaving(id).map(|link| (link.from, link.to));
        let against = air.leading_to(id).map(|link| (link.to, link.from));
        let joined = along.chain(against.filter(|_| direction == Direction::Either));
        let joined = joined.filter(|(own, _)| own.is_outlet() == outlet);
        open.extend(joined.map(|(_, other)| (other.thing, other.is_outlet())));
    }
    reached
}
