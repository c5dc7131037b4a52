//! The roles of the two ends of a ground run.

use drysheath_office::kinds::Role;
use drysheath_office::{Link, LinkEnd, Networks, ThingId};

/// The two sides of a link between ends with the roles `one` and `other`, in that order, whatever the direction of its
/// arrow.
pub(super) fn sides(link: &Link, one: Role, other: Role) -> Option<(LinkEnd, LinkEnd)> {
    if link.from.port.role == one && link.to.port.role == other {
        Some((link.from, link.to))
    } else if link.to.port.role == one && link.from.port.role == other {
        Some((link.to, link.from))
    } else {
        None
    }
}

/// The ground conductors from a port of a thing directly to a ground bar.
pub(crate) fn conductors_to_bars(
    networks: &Networks,
    thing: ThingId,
    role: Role,
) -> impl Iterator<Item = (&Link, LinkEnd, LinkEnd)> {
    let ground = &networks.ground;
    let links = ground.leaving(thing).chain(ground.leading_to(thing));
    let to_bars = links.filter_map(move |link| sides(link, role, Role::Bar).map(|(own, bar)| (link, own, bar)));
    to_bars.filter(move |(_, own, _)| own.thing == thing)
}

/// The ground conductors from the frame of a chassis directly to a ground bar, in the order of the file.
pub(super) fn own_grounds(networks: &Networks, chassis: ThingId) -> impl Iterator<Item = (&Link, LinkEnd, LinkEnd)> {
    let mut own: Vec<_> = conductors_to_bars(networks, chassis, Role::Frame).collect();
    own.sort_by_key(|(_, frame, _)| frame.range.start);
    own.into_iter()
}
