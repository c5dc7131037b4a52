//! Which kinds of ends a ground run joins.

use drysheath_office::kinds::Role;
use drysheath_office::{Link, Networks, Side, ThingId};

/// The two sides of a link that joins these roles, in that order, whichever way its arrow points.
pub(super) fn sides(link: &Link, one: Role, other: Role) -> Option<(Side, Side)> {
    if link.from.port.role == one && link.to.port.role == other {
        Some((link.from, link.to))
    } else if link.to.port.role == one && link.from.port.role == other {
        Some((link.to, link.from))
    } else {
        None
    }
}

/// The ground conductors from a chassis' frame straight to a ground bar, in the order of the file.
pub(super) fn own_grounds(networks: &Networks, chassis: ThingId) -> impl Iterator<Item = (&Link, Side, Side)> {
    let ground = &networks.ground;
    let links = ground.leaving(chassis).chain(ground.leading_to(chassis));
    let own = links.filter_map(|link| sides(link, Role::Frame, Role::Bar).map(|(frame, bar)| (link, frame, bar)));
    let mut own: Vec<_> = own.filter(|(_, frame, _)| frame.thing == chassis).collect();
    own.sort_by_key(|(_, frame, _)| frame.range.start);
    own.into_iter()
}
