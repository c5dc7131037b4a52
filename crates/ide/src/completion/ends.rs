//! Completes the ends of a run: things that it can lead to, and ports, starting with the next free pair, input, fuse
//! position or outlet.

mod fit;
mod joined;

use drysheath_office::kinds::{Numbering, Port, Role};
use drysheath_office::{Candidate, End, Fields, Free, FreeState, ThingId, printed};
use drysheath_syntax::{IncompleteStatement, Medium, Run, Token};

use super::items::Items;
use super::{CompletionKind, attributes, values};
use crate::spares::{taken, written};
use fit::{PortCandidate, RunContext};

/// Limit of offered free numbers.
const MOST_NUMBERS: usize = 50;

/// Offers continuations of a run at the caret.
pub(super) fn offer(items: &mut Items<'_>, unfinished: &IncompleteStatement, run: &Run) {
    if let Some(piece) = run.pieces().last().filter(|piece| !piece.is_empty()) {
        let with: Vec<&[Token]> = piece.iter().map(|with| unfinished.before_in(*with)).collect();
        let names = run
            .ends
            .iter()
            .filter_map(|end| unfinished.before_in(end.items).first());
        let text = items.text();
        let names: Vec<&str> = names.map(|name| name.range.of(text)).collect();
        return attributes::offer(items, run.medium, &names, &with);
    }
    let (office, medium) = (items.office(), run.medium);
    let mut ends: Vec<(End, Vec<Candidate>)> = (0..)
        .zip(&run.ends)
        .map(|(at, end)| office.candidates_in_end(medium, unfinished.before_in(end.items), at, run.ends.len()))
        .collect();
    let Some((current, candidates)) = ends.pop() else {
        return;
    };
    let earlier: Vec<End> = ends.into_iter().map(|(end, _)| end).collect();
    let run = run_context(items, medium, &earlier);
    for candidate in &candidates {
        inside(items, &run, current, *candidate);
    }
    // A range is needed less often than a single number.
    if candidates.iter().any(|candidate| matches!(candidate, Candidate::Dots)) {
        values::dots(items);
    }
}

/// The context of a run before the end that is being written.
fn run_context(items: &Items<'_>, medium: Medium, earlier: &[End]) -> RunContext {
    let office = items.office();
    let first = earlier.first();
    let last = earlier.last();
    let role = |end: &End| {
        let kind = office.thing(end.thing?).kind?;
        let is_signal = |port: &&'static Port| matches!(port.role, Role::Signal(_));
        let port = end.port.or_else(|| kind.ports_in(medium).find(is_signal))?;
        Some(port.role)
    };
    RunContext {
        medium,
        is_start: earlier.is_empty(),
        width: last.map_or(1, |end| end.numbers.1 - end.numbers.0 + 1),
        last: last.and_then(role),
        last_thing: last.and_then(|end| end.thing),
        signal: first.and_then(|first| joined::signal(items.analysis, first.thing?, role(first), first.numbers.0)),
        host: first.and_then(|first| office.host(first.thing?)?.thing),
        joined: joined::Joined::new(items, medium),
        passed: earlier.iter().filter_map(|end| end.thing).collect(),
    }
}

/// Offers a new end: the likeliest first, each with its next free number.
fn new_end(items: &mut Items<'_>, run: &RunContext) {
    let office = items.office();
    let mut fits: Vec<(u32, ThingId, &'static Port)> = Vec::new();
    let mut bare: Vec<ThingId> = Vec::new();
    for (id, thing) in items.named_things() {
        let Some(kind) = thing.kind else { continue };
        let ports = kind.ports_in(run.medium);
        let before = fits.len();
        fits.extend(ports.filter_map(|port| {
            Some((
                fit::rank(items, run, PortCandidate { id, thing, kind, port })?,
                id,
                port,
            ))
        }));
        let numbered = fits
            .get(before..)
            .unwrap_or_default()
            .iter()
            .any(|(_, _, port)| port.is_counted());
        if numbered {
            bare.push(id);
        }
    }
    fits.sort_by_key(|(rank, id, _)| (*rank, *id));
    for (_, id, port) in fits {
        whole_end(items, run, id, port);
    }
    for id in bare {
        let name = office.name(id);
        if !items.found.iter().any(|found| found.label == name) {
            items.offer_thing(id).insert.push(' ');
        }
    }
}

/// Offers a complete end.
fn whole_end(items: &mut Items<'_>, run: &RunContext, id: ThingId, port: &'static Port) {
    let office = items.office();
    let thing = office.thing(id);
    let Some(kind) = thing.kind else { return };
    let name = office.name(id);
    let what = items.what(id);
    let is_bare = fit::is_bare(kind, port, run.is_start);
    match port.numbering {
        Numbering::Named(key) => {
            let mut named: Vec<(bool, &str)> = (1..)
                .zip(thing.named(key))
                .map(|(number, (own, ..))| (run.joined.has_number(id, port, number), own))
                .collect();
            named.sort_by_key(|(joined, _)| *joined);
            for (_, own) in named {
                let label = format!("{name} {} {own}", port.word);
                items
                    .offer(CompletionKind::Thing, label)
                    .detail(format!("{what}: {}", port.doc));
            }
        }
        Numbering::Count(_) | Numbering::Range(_) => {
            let one_outlet = is_bare && office.rows(id, port).is_some_and(|rows| rows.iter().eq([(1, 1)]));
            if let Some(next) = next_free(items, run, id, port) {
                let label = if one_outlet {
                    name.to_owned()
                } else {
                    format!("{name} {} {}", port.word, written(next))
                };
                number(items, label, id, port, next);
            } else if one_outlet {
                items.offer(CompletionKind::Thing, name).detail(what);
            }
        }
        Numbering::None | Numbering::Connectors => {
            let label = if is_bare {
                name.to_owned()
            } else {
                format!("{name} {}", port.word)
            };
            let detail = if is_bare { what } else { format!("{what}: {}", port.doc) };
            items
                .offer(CompletionKind::Thing, label)
                .detail(detail)
                .documentation(kind.summary);
        }
    }
}

/// The next free number of a port. A run that starts at a pair most likely continues what another brought there.
fn next_free(items: &Items<'_>, run: &RunContext, id: ThingId, port: &'static Port) -> Option<Free> {
    let brought = if run.is_start {
        joined::waiting(items.analysis, id, port).next()
    } else {
        None
    };
    let brought = brought.map(|(number, _)| Free {
        from: number,
        to: number,
        state: FreeState::Unstated,
    });
    brought.or_else(|| items.allocation().free(items.office(), id, port, run.width).next())
}

/// Offers a free number, with the edit that removes it from its `spare` statement.
fn number(items: &mut Items<'_>, label: String, id: ThingId, port: &'static Port, next: Free) {
    let also = taken(items.analysis, id, port, next);
    let carried = if next.from == next.to {
        joined::carried(items.analysis, id, port, next.from)
    } else {
        None
    };
    let detail = match (next.state, carried) {
        (_, Some(device)) => format!("carries `{device}`, which reaches no input yet"),
        (FreeState::Unstated, None) => "free".to_owned(),
        (FreeState::Spare, None) => "free, declared spare; it is taken off the `spare` line".to_owned(),
        (FreeState::Terminated, None) => "terminated, carries nothing".to_owned(),
    };
    let colours = (port.role == Role::Pair)
        .then(|| colours(items, id, next.from))
        .flatten();
    let completion = items.offer(CompletionKind::NextFree, label).detail(detail);
    completion.documentation(colours.unwrap_or_default()).also = also;
}

/// Tip and ring colours of a pair, as written after its number.
fn colours(items: &Items<'_>, thing: ThingId, pair: u32) -> Option<String> {
    let (tip, ring) = items.office().tip_and_ring(thing, pair)?;
    Some(format!("{}-{}", tip.name(), ring.name()))
}

/// Offers one candidate within an end.
fn inside(items: &mut Items<'_>, run: &RunContext, end: End, candidate: Candidate) {
    match candidate {
        Candidate::Thing => new_end(items, run),
        Candidate::Port => ports(items, run, end),
        Candidate::NameOf(thing, key) => values::names(items, thing, key, end.port.map_or("", |port| port.doc)),
        Candidate::PortNumber(port) => numbers(items, run, end, port),
        Candidate::LastNumber { from } => {
            let to = from + run.width.max(2) - 1;
            items
                .offer(CompletionKind::Value, printed(to).to_string())
                .detail(format!("{} in all", to - from + 1));
        }
        Candidate::Colours => {
            let (pair, _) = end.numbers;
            if let Some(colours) = end.thing.and_then(|thing| colours(items, thing, pair)) {
                items
                    .offer(CompletionKind::Colour, colours)
                    .detail(format!("colours of pair {}", printed(pair)));
            }
        }
        Candidate::Onward => onward(items, run),
        _ => {}
    }
}

/// Offers the free numbers of a port.
fn numbers(items: &mut Items<'_>, run: &RunContext, end: End, port: &'static Port) {
    let Some(thing) = end.thing else { return };
    let begun = items.written().to_owned();
    let brought = if run.is_start {
        joined::waiting(items.analysis, thing, port).collect()
    } else {
        Vec::new()
    };
    let brought = brought.iter().map(|(number, _)| Free {
        from: *number,
        to: *number,
        state: FreeState::Unstated,
    });
    let free = brought.chain(items.allocation().free(items.office(), thing, port, run.width));
    let fitting = free
        .filter(|free| written(*free).starts_with(&begun))
        .take(MOST_NUMBERS);
    for free in fitting.collect::<Vec<_>>() {
        number(items, written(free), thing, port, free);
    }
}

fn ports(items: &mut Items<'_>, run: &RunContext, end: End) {
    let Some(id) = end.thing else { return };
    let thing = items.office().thing(id);
    let Some(kind) = thing.kind else { return };
    let rank = |port| fit::rank(items, run, PortCandidate { id, thing, kind, port });
    let mut fits: Vec<(Option<u32>, &'static Port)> =
        kind.ports_in(run.medium).map(|port| (rank(port), port)).collect();
    // Unsuitable ports come last, but are offered.
    fits.sort_by_key(|(rank, _)| rank.unwrap_or(u32::MAX));
    for (rank, port) in &fits {
        if rank.is_some()
            && port.is_counted()
            && let Some(next) = next_free(items, run, id, port)
        {
            number(items, format!("{} {}", port.word, written(next)), id, port, next);
        }
    }
    for (_, port) in &fits {
        let completion = items.offer(CompletionKind::Port, port.word).detail(port.doc);
        if port.numbering != Numbering::None {
            completion.insert.push(' ');
        }
    }
}

/// Offers what follows a complete end: another end, or attributes.
fn onward(items: &mut Items<'_>, run: &RunContext) {
    items
        .offer(CompletionKind::Keyword, "->")
        .detail("leads on to")
        .insert
        .push(' ');
    if !run.is_start {
        items
            .offer(CompletionKind::Keyword, "with")
            .detail("sizes and lengths")
            .insert
            .push(' ');
    }
}
