use drysheath_office::ThingId;
use drysheath_office::kinds::{Key, Port, Role};
use drysheath_office::{Fields as _, NumberRange};

use crate::lint::Inspection;

/// The unused outlets of a regulator or ports of a manifold that are neither plugged nor spare, as ranges. None where a run
/// uses one that is plugged, spare or missing, or two runs use the same one: other rules report that, and the outlet that
/// was meant only seems to be open.
pub(super) fn open_ports(inspection: &Inspection<'_>, id: ThingId, count: u32) -> Vec<(u32, u32)> {
    let Some(port) = outlet(inspection, id) else {
        return Vec::new();
    };
    let allocation = inspection.allocation();
    let (used, spare) = (allocation.used(id, port), allocation.spare(id, port));
    let plugged = inspection.office.thing(id).numbers(Key::Plugged);
    let closed = || spare.iter().map(NumberRange::numbers).chain(plugged);
    let clashes = |own: &NumberRange| own.to > count || closed().any(|(from, to)| from <= own.to && own.from <= to);
    let is_doubled = used
        .iter()
        .zip(used.iter().skip(1))
        .any(|(one, next)| next.from <= one.to);
    if is_doubled || used.iter().any(clashes) {
        return Vec::new();
    }
    allocation.unstated(inspection.office, id, port)
}

/// The outlets that runs end on, and where a run says so.
pub(super) fn used<'i>(inspection: &'i Inspection<'_>, id: ThingId) -> &'i [NumberRange] {
    outlet(inspection, id).map_or(&[], |port| inspection.allocation().used(id, port))
}

/// The numbered outlet of a thing.
fn outlet(inspection: &Inspection<'_>, id: ThingId) -> Option<&'static Port> {
    let kind = inspection.office.thing(id).kind?;
    let mut ports = kind.ports.iter();
    ports.find(|port| port.role == Role::Outlet && port.is_counted())
}

/// Whether any air run ends on a thing. One without any is reported by another rule.
pub(super) fn is_joined(inspection: &Inspection<'_>, id: ThingId) -> bool {
    let air = &inspection.networks.air;
    air.leaving(id).next().is_some() || air.leading_to(id).next().is_some()
}

/// Ranges of outlets in words: "outlet 2", "outlets 2, 4 .. 6 and 8".
pub(super) fn in_words(word: &str, ranges: &[(u32, u32)]) -> String {
    let shown: Vec<_> = ranges
        .iter()
        .map(|(from, to)| {
            if from == to {
                from.to_string()
            } else {
                format!("{from} .. {to}")
            }
        })
        .collect();
    match shown.as_slice() {
        [only] if ranges.iter().all(|(from, to)| from == to) => format!("{word} {only}"),
        [only] => format!("{word}s {only}"),
        [first @ .., last] => format!("{word}s {} and {last}", first.join(", ")),
        [] => word.to_owned(),
    }
}
