//! Which kinds of ends a ground run joins.

use drysheath_office::kinds::Role;
use drysheath_office::{Link, Side};

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
