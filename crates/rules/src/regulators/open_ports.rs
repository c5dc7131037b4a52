use drysheath_office::kinds::Role;
use drysheath_office::{Office, ThingId};
use drysheath_text::TextRange;

use crate::lint::Inspection;

/// The outlets of a regulator or manifold from 1 to `count` that no run uses and nothing closes, as ranges. `plugged` are
/// closed, and so is what is said to be spare. None at all where a run uses what is closed or not there, or two runs use the
/// same: that is reported itself, and the outlet that was meant only seems to be open.
pub(super) fn open_ports(
    inspection: &Inspection<'_>,
    id: ThingId,
    count: u32,
    plugged: Option<(u32, u32)>,
) -> Vec<(u32, u32)> {
    let mut taken: Vec<(u32, u32)> = used(inspection, id).map(|(numbers, _)| numbers).collect();
    let closed = || spare(inspection.office, id).chain(plugged);
    let clashes = |(from, to): (u32, u32)| to > count || closed().any(|closed| closed.0 <= to && from <= closed.1);
    taken.sort_unstable();
    let is_doubled = taken
        .iter()
        .zip(taken.iter().skip(1))
        .any(|(one, next)| next.0 <= one.1);
    if is_doubled || taken.iter().any(|numbers| clashes(*numbers)) {
        return Vec::new();
    }
    taken.extend(closed());
    taken.sort_unstable();
    let mut open = Vec::new();
    let mut next = 1;
    for (from, to) in taken {
        if from > count {
            break;
        }
        if from > next {
            open.push((next, from - 1));
        }
        next = next.max(to.saturating_add(1));
    }
    if next <= count {
        open.push((next, count));
    }
    open
}

/// The outlets that runs end on, and where a run says so.
pub(super) fn used<'i>(
    inspection: &'i Inspection<'_>,
    id: ThingId,
) -> impl Iterator<Item = ((u32, u32), TextRange)> + 'i {
    let air = &inspection.networks.air;
    let nearer = air.leaving(id).map(|link| (link.run, link.from));
    let sides = nearer.chain(air.leading_to(id).map(|link| (link.run, link.to)));
    let outlets = sides.filter(|(_, side)| side.port.role == Role::Outlet);
    outlets.map(|(run, side)| {
        // A run may name several outlets at once.
        let run = inspection.office.runs.get(run as usize);
        let mut ends = run.map_or(&[][..], |run| &run.ends).iter();
        let end = ends.find(|end| end.range == side.range && end.numbers.0 == side.number);
        ((side.number, end.map_or(side.number, |end| end.numbers.1)), side.range)
    })
}

fn spare(office: &Office, id: ThingId) -> impl Iterator<Item = (u32, u32)> {
    let ends = office
        .spares
        .iter()
        .map(|spare| spare.end)
        .filter(move |end| end.thing == Some(id));
    ends.filter(|end| end.port.is_some_and(|port| port.role == Role::Outlet))
        .map(|end| end.numbers)
}

/// Whether any run of air ends on a thing. What has none at all is reported for that.
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
