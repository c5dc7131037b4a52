//! The things that air from a dryer can reach, whatever its pressure.

use drysheath_engineering::index::IndexVec;
use drysheath_office::{Thing, ThingId};

use crate::lint::Inspection;

/// Direction in which air is followed through runs.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Direction {
    /// In the direction of the arrows.
    Arrows,
    /// With and against the arrows.
    Either,
}

/// The things that air from the outlet of a dryer reaches; the flag is true where it reaches the thing's outlet.
/// `passes` tells whether a thing lets through air that arrives at its outlet (true) or inlet (false).
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
