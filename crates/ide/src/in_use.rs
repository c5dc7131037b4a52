//! What of a block, cable, monitor or panel is not in use.

use drysheath_office::kinds::{Numbering, Port, Role};
use drysheath_office::{Networks, Office, ThingId};
use rustc_hash::FxHashSet;

/// The numbers of ports that are in use.
pub(crate) struct InUse<'o> {
    office: &'o Office,
    used: FxHashSet<(ThingId, &'static str, u32)>,
}

/// What is free of one port.
pub(crate) struct Free {
    pub count: u32,
    /// How many there are altogether.
    pub of: u32,
    /// The first that is free.
    pub next: Option<u32>,
}

impl<'o> InUse<'o> {
    /// Those of an office. A pair that is joined but carries nothing from a device and nothing to an input is free.
    pub fn of(office: &'o Office, networks: &Networks) -> Self {
        let mut used = FxHashSet::default();
        let wire = &networks.wire;
        for group in wire.groups() {
            let carries = |role: Role| matches!(role, Role::Signal(_)) || role.is_input();
            let mut terminals = group.clone().filter_map(|id| wire.terminal(id));
            if terminals.any(|terminal| carries(terminal.port.role)) {
                let terminals = group.filter_map(|id| wire.terminal(id));
                used.extend(terminals.map(|terminal| (terminal.thing, terminal.port.word, terminal.number)));
            }
        }
        for link in networks.air.iter().chain(networks.power.iter()) {
            used.extend([link.from, link.to].map(|side| (side.thing, side.port.word, side.number)));
        }
        Self { office, used }
    }

    /// What is free of a port that has numbers. None where it is not known how many there are.
    pub fn free(&self, thing: ThingId, port: &Port) -> Option<Free> {
        const MOST: u32 = 10_000;
        if !matches!(port.numbering, Numbering::Count(_) | Numbering::Range(_)) {
            return None;
        }
        let (first, last) = self.office.extent(thing, port)?;
        let last = last.min(first.saturating_add(MOST));
        let mut free = (first..=last).filter(|number| !self.used.contains(&(thing, port.word, *number)));
        let next = free.next();
        Some(Free {
            count: next.map_or(0, |_| 1 + free.count() as u32),
            of: (last + 1).saturating_sub(first),
            next,
        })
    }
}

/// What the numbers of a port count, in the singular and in the plural.
pub(crate) fn noun(port: &Port) -> (&'static str, &'static str) {
    match port.role {
        Role::SensorInput => ("sensor input", "sensor inputs"),
        Role::ContactInput => ("contact input", "contact inputs"),
        Role::Fuse => ("fuse position", "fuse positions"),
        Role::Pair => ("pair", "pairs"),
        _ => ("port", "ports"),
    }
}
