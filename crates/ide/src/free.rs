//! Which pairs, inputs, fuse positions and outlets of a thing are free, and what is said of them.

use drysheath_office::kinds::{Bare, Key, Port, Role};
use drysheath_office::{End, Fields, Office, Run, ThingId};
use drysheath_text::{Edit, TextRange};

use crate::Analysis;
use crate::lines::{below, whole_line};

/// More numbers than anything has. A count beyond it is a slip, and must not cost memory.
const MOST: u32 = 10_000;

/// Numbers that nothing uses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Free {
    /// The first.
    pub from: u32,
    /// The last.
    pub to: u32,
    /// What is known of them.
    pub standing: Standing,
}

/// What is known of a number that nothing uses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Standing {
    /// Nothing is said of it.
    Unused,
    /// It is said to be spare.
    Spare,
    /// A pair that is joined on one side and carries nothing.
    Terminated,
}

impl Free {
    /// The numbers as they are written: `5`, `5 .. 9`.
    pub fn written(&self) -> String {
        numbers(self.from, self.to)
    }
}

/// Numbers as they are written: `5`, `5 .. 9`.
pub(crate) fn numbers(from: u32, to: u32) -> String {
    if from == to {
        from.to_string()
    } else {
        format!("{from} .. {to}")
    }
}

/// The next free numbers of a port, lowest first, `width` of them in a row, at most `most` times. What is said in the end
/// that `but` touches counts for nothing: it is being written. Terminated pairs come last.
pub(crate) fn free(
    analysis: &Analysis,
    thing: ThingId,
    port: &'static Port,
    width: u32,
    but: TextRange,
    most: usize,
) -> Vec<Free> {
    let office = &analysis.office;
    let Some((first, last)) = office.extent(thing, port) else {
        return Vec::new();
    };
    let last = last.min(first.saturating_add(MOST));
    let mut taken = vec![false; (last.saturating_sub(first) + 1) as usize];
    let mut mark = |from: u32, to: u32| {
        for number in from.max(first)..=to.min(last) {
            if let Some(taken) = taken.get_mut((number - first) as usize) {
                *taken = true;
            }
        }
    };
    for run in office.runs.iter().filter(|run| run.medium == port.medium) {
        for (at, end) in run.ends.iter().enumerate() {
            let is_written = end.range.start <= but.end && but.start <= end.range.end;
            if let Some((from, to)) = named(run, at, end, thing, port).filter(|_| !is_written) {
                mark(from, to);
            }
        }
    }
    if port.role == Role::Outlet
        && let Some((from, to)) = office.thing(thing).numbers(Key::Plugged)
    {
        mark(from, to);
    }
    let is_free = |number: u32| taken.get((number - first) as usize) == Some(&false);
    let spare: Vec<(u32, u32)> = said_spare(office, thing, port).map(|(end, _)| end.numbers).collect();
    let is_spare = |from: u32, to: u32| spare.iter().any(|said| said.0 <= to && from <= said.1);
    let starts = (first..=last).filter(|from| {
        let to = from.saturating_add(width.max(1) - 1);
        to <= last && (*from..=to).all(is_free)
    });
    let found = starts.map(|from| {
        let to = from + width.max(1) - 1;
        let standing = if is_spare(from, to) {
            Standing::Spare
        } else {
            Standing::Unused
        };
        Free { from, to, standing }
    });
    let mut found: Vec<Free> = found.take(most).collect();
    if port.role == Role::Pair && width <= 1 {
        let used = (first..=last).filter(|number| !is_free(*number));
        let idle = used.filter(|number| is_terminated(analysis, thing, port, *number));
        let left = most - found.len();
        found.extend(idle.take(left).map(|number| Free {
            from: number,
            to: number,
            standing: Standing::Terminated,
        }));
    }
    found
}

/// The numbers of a port that an end of a run names.
fn named(run: &Run, at: usize, end: &End, thing: ThingId, port: &'static Port) -> Option<(u32, u32)> {
    if end.thing != Some(thing) {
        return None;
    }
    match end.port {
        Some(own) => std::ptr::eq(own, port)
            .then_some(end.numbers)
            .filter(|numbers| numbers.0 > 0),
        // What stands bare in the middle of a run is left by the first of its outlets.
        None => (port.bare == Bare::Source && at + 1 < run.ends.len()).then_some((1, 1)),
    }
}

/// Whether a pair is joined on one side only, and carries nothing from a device and nothing to an input.
fn is_terminated(analysis: &Analysis, thing: ThingId, port: &'static Port, number: u32) -> bool {
    let wire = &analysis.networks.wire;
    let Some(id) = wire.find(thing, port, number) else {
        return false;
    };
    let is_pair = |id| {
        wire.terminal(id)
            .is_some_and(|terminal| terminal.port.role == Role::Pair)
    };
    wire.joints_at(id).len() == 1 && wire.joined_with(id).all(is_pair)
}

/// What is said to be spare of a port, and the statement that says so.
fn said_spare<'o>(
    office: &'o Office,
    thing: ThingId,
    port: &'static Port,
) -> impl Iterator<Item = (End, TextRange)> + use<'o> {
    let spares = office.spares.iter().map(|spare| (spare.end, spare.range));
    spares.filter(move |(end, _)| end.thing == Some(thing) && end.port.is_some_and(|own| std::ptr::eq(own, port)))
}

/// The edits after which what is taken is no longer said to be spare: the numbers, and all that a terminated pair is joined
/// with.
pub(crate) fn taken(analysis: &Analysis, thing: ThingId, port: &'static Port, free: Free) -> Vec<Edit> {
    let (office, wire) = (&analysis.office, &analysis.networks.wire);
    let pair = wire
        .find(thing, port, free.from)
        .filter(|_| free.standing == Standing::Terminated);
    let Some(pair) = pair else {
        return no_longer_spare(office, thing, port, (free.from, free.to));
    };
    let joined = wire.joined_with(pair).filter_map(|id| wire.terminal(id));
    let edits = joined.flat_map(|own| no_longer_spare(office, own.thing, own.port, (own.number, own.number)));
    edits.collect()
}

/// The edits after which some numbers of a port are no longer said to be spare.
pub(crate) fn no_longer_spare(
    office: &Office,
    thing: ThingId,
    port: &'static Port,
    (from, to): (u32, u32),
) -> Vec<Edit> {
    let mut edits = Vec::new();
    for (end, statement) in said_spare(office, thing, port) {
        let (first, last) = end.numbers;
        if last < from || to < first {
            continue;
        }
        let detail = |from, to| format!("{} {}", port.word, numbers(from, to));
        let before = (first < from).then(|| detail(first, from - 1));
        let after = (to < last).then(|| detail(to + 1, last));
        let (range, replacement) = match (before, after) {
            (None, None) => (whole_line(&office.text, statement), String::new()),
            (Some(kept), None) | (None, Some(kept)) => (end.detail, kept),
            (Some(before), Some(after)) => {
                let line = format!("spare {} {after}", office.name(thing));
                edits.push(below(&office.text, statement.end, &line));
                (end.detail, before)
            }
        };
        edits.push(Edit { range, replacement });
    }
    edits
}

/// The numbers of a port that no run uses and nothing says to be spare, as ranges. `plugged` outlets are closed.
pub(crate) fn unsaid(analysis: &Analysis, thing: ThingId, port: &'static Port) -> Vec<(u32, u32)> {
    let nowhere = TextRange::empty(u32::MAX);
    let free = free(analysis, thing, port, 1, nowhere, MOST as usize);
    let mut ranges: Vec<(u32, u32)> = Vec::new();
    for number in free.iter().filter(|free| free.standing == Standing::Unused) {
        match ranges.last_mut() {
            Some(last) if last.1 + 1 == number.from => last.1 = number.to,
            _ => ranges.push((number.from, number.to)),
        }
    }
    ranges
}
