use drysheath_office::ThingId;
use drysheath_office::kinds::{Port, Role};
use drysheath_office::{NumberRange, numbers_written};

use crate::lint::Inspection;

/// The port of a regulator's outlets or of a manifold, and the ranges of unused numbers not declared spare. `None`
/// where there are none.
pub(super) fn open_ports(inspection: &Inspection<'_>, id: ThingId) -> Option<(&'static Port, Vec<(u32, u32)>)> {
    let port = outlet(inspection, id)?;
    let open = inspection.allocation().unstated(inspection.office, id, port);
    (!open.is_empty()).then_some((port, open))
}

/// The outlets at which runs end, with the places in the runs.
pub(super) fn used<'i>(inspection: &'i Inspection<'_>, id: ThingId) -> &'i [NumberRange] {
    outlet(inspection, id).map_or(&[], |port| inspection.allocation().used(id, port))
}

/// The numbered outlet port of a thing.
fn outlet(inspection: &Inspection<'_>, id: ThingId) -> Option<&'static Port> {
    let kind = inspection.office.thing(id).kind?;
    let mut ports = kind.ports.iter();
    ports.find(|port| port.role == Role::Outlet && port.is_counted())
}

/// Whether any air run ends at a thing. A thing without one is reported by another rule.
pub(super) fn is_joined(inspection: &Inspection<'_>, id: ThingId) -> bool {
    let air = &inspection.networks.air;
    air.leaving(id).next().is_some() || air.leading_to(id).next().is_some()
}

/// Ranges of outlets as text: "outlet 2", "outlets 2, 4 .. 6 and 8".
pub(super) fn in_words(word: &str, ranges: &[(u32, u32)]) -> String {
    let shown: Vec<_> = ranges.iter().map(|(from, to)| numbers_written(*from, *to)).collect();
    match shown.as_slice() {
        [only] if ranges.iter().all(|(from, to)| from == to) => format!("{word} {only}"),
        [only] => format!("{word}s {only}"),
        [first @ .., last] => format!("{word}s {} and {last}", first.join(", ")),
        [] => word.to_owned(),
    }
}
