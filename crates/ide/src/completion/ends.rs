//! The ends of a run: things that it can lead to, ports, and the next free pair, input, fuse position or outlet first.

mod fit;
mod joined;

use drysheath_engineering::colour::pair_colours;
use drysheath_office::kinds::{Kind, Numbering, Port, Role};
use drysheath_office::{Fields, Free, FreeState, Thing, ThingId};
use drysheath_syntax::{Medium, Token, TokenKind};

use super::items::Items;
use super::{CompletionKind, attributes};
use crate::spares::{taken, written};
use fit::{Fit, Way};

/// How many free numbers are offered.
const MOST_NUMBERS: usize = 50;

/// An end as its tokens have it.
#[derive(Clone, Copy)]
struct Said<'a> {
    thing: ThingId,
    of: &'a Thing,
    kind: &'static Kind,
    port: Option<&'static Port>,
    numbers: Option<(u32, u32)>,
}

/// Offers what could be said next. `tokens` are those after the run's first word.
pub(super) fn offer(items: &mut Items<'_>, medium: Medium, tokens: &[Token]) {
    if let Some(with) = tokens.iter().position(|token| token.kind == TokenKind::With) {
        return attributes::offer(items, medium, tokens.get(with + 1..).unwrap_or_default());
    }
    let ends: Vec<&[Token]> = tokens.split(|token| token.kind == TokenKind::Arrow).collect();
    let Some((current, earlier)) = ends.split_last() else {
        return;
    };
    let earlier: Vec<Option<Said<'_>>> = earlier.iter().map(|end| said(items, medium, end)).collect();
    let way = way(items, medium, &earlier);
    match current {
        [] => new_end(items, &way),
        [_, rest @ ..] => {
            if let Some(end) = said(items, medium, current) {
                inside(items, &way, end, rest);
            }
        }
    }
}

fn said<'a>(items: &Items<'a>, medium: Medium, end: &[Token]) -> Option<Said<'a>> {
    let text = items.text();
    let (name, rest) = end.split_first()?;
    let (thing, of) = items.named(name.range.of(text))?;
    let kind = of.kind?;
    let word = rest.first().map_or("", |word| word.range.of(text));
    let number = |token: Option<&Token>| token.and_then(|token| token.range.of(text).parse().ok());
    let from: Option<u32> = number(rest.get(1));
    let is_range = rest.get(2).is_some_and(|token| token.kind == TokenKind::DotDot);
    let to = if is_range { number(rest.get(3)) } else { None };
    Some(Said {
        thing,
        of,
        kind,
        port: kind.ports_in(medium).find(|port| port.word == word),
        numbers: from.map(|from| (from, to.unwrap_or(from).max(from))),
    })
}

/// What is known of a run before the end that is being written.
fn way<'a>(items: &Items<'a>, medium: Medium, earlier: &[Option<Said<'a>>]) -> Way {
    let first = earlier.first().copied().flatten();
    let last = earlier.last().copied().flatten();
    let width = last.and_then(|last| last.numbers).map_or(1, |(from, to)| to - from + 1);
    let role = |said: Said<'_>| match said.port {
        Some(port) => Some(port.role),
        None => said
            .kind
            .ports_in(medium)
            .find(|port| matches!(port.role, Role::Signal(_)))
            .map(|port| port.role),
    };
    Way {
        medium,
        is_start: earlier.is_empty(),
        width,
        last: last.and_then(role),
        last_thing: last.map(|last| last.thing),
        signal: first.and_then(|first| joined::signal(items.analysis, first.thing, role(first), first.numbers)),
        host: first.and_then(|first| items.office().host(first.thing)?.thing),
        joined: joined::Joined::new(items, medium),
        passed: earlier.iter().flatten().map(|said| said.thing).collect(),
    }
}

/// A new end: the likeliest first, each with its next free number.
fn new_end(items: &mut Items<'_>, way: &Way) {
    let office = items.office();
    let mut fits: Vec<(u32, ThingId, &'static Port)> = Vec::new();
    let mut bare: Vec<(ThingId, &'static Kind)> = Vec::new();
    for (id, thing) in office.things() {
        let Some(kind) = thing.kind.filter(|_| !thing.name.is_empty()) else {
            continue;
        };
        let ports = kind.ports_in(way.medium);
        let before = fits.len();
        fits.extend(ports.filter_map(|port| Some((fit::rank(items, way, Fit { id, thing, kind, port })?, id, port))));
        let numbered = fits
            .get(before..)
            .unwrap_or_default()
            .iter()
            .any(|(_, _, port)| port.is_counted());
        if numbered {
            bare.push((id, kind));
        }
    }
    fits.sort_by_key(|(rank, id, _)| (*rank, *id));
    for (_, id, port) in fits {
        whole_end(items, way, id, port);
    }
    for (id, kind) in bare {
        let name = office.name(id);
        if !items.found.iter().any(|found| found.label == name) {
            items
                .offer(CompletionKind::Thing, name)
                .detail(kind.word())
                .insert
                .push(' ');
        }
    }
}

/// An end that names everything it has to.
fn whole_end(items: &mut Items<'_>, way: &Way, id: ThingId, port: &'static Port) {
    let office = items.office();
    let thing = office.thing(id);
    let Some(kind) = thing.kind else { return };
    let name = office.name(id);
    let is_bare = fit::is_bare(kind, port, way.is_start);
    match port.numbering {
        Numbering::Named(key) => {
            let mut named: Vec<(bool, &str)> = (1..)
                .zip(thing.named(key))
                .map(|(number, (own, ..))| (way.joined.has_number(id, port, number), own))
                .collect();
            named.sort_by_key(|(joined, _)| *joined);
            for (_, own) in named {
                let label = format!("{name} {} {own}", port.word);
                items
                    .offer(CompletionKind::Thing, label)
                    .detail(format!("{} of a {}", port.doc, kind.word()));
            }
        }
        Numbering::Count(_) | Numbering::Range(_) => {
            let one_outlet = is_bare && office.extent(id, port) == Some((1, 1));
            if let Some(next) = next_free(items, way, id, port) {
                let label = if one_outlet {
                    name.to_owned()
                } else {
                    format!("{name} {} {}", port.word, written(next))
                };
                number(items, label, id, port, next);
            } else if one_outlet {
                items.offer(CompletionKind::Thing, name).detail(kind.word());
            }
        }
        Numbering::None => {
            let label = if is_bare {
                name.to_owned()
            } else {
                format!("{name} {}", port.word)
            };
            let detail = if is_bare {
                kind.word().to_owned()
            } else {
                format!("{} of a {}", port.doc, kind.word())
            };
            items
                .offer(CompletionKind::Thing, label)
                .detail(detail)
                .documentation(kind.summary);
        }
    }
}

/// The next free number of a port. A run that starts with a pair most likely takes on what another brought there.
fn next_free(items: &Items<'_>, way: &Way, id: ThingId, port: &'static Port) -> Option<Free> {
    let brought = if way.is_start {
        joined::waiting(items.analysis, id, port).next()
    } else {
        None
    };
    let brought = brought.map(|(number, _)| Free {
        from: number,
        to: number,
        state: FreeState::Unstated,
    });
    brought.or_else(|| items.allocation().free(items.office(), id, port, way.width).next())
}

/// Offers a free number. What is said to be spare of it is said no longer.
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
        (FreeState::Spare, None) => "free, said to be spare; that is said no longer".to_owned(),
        (FreeState::Terminated, None) => "terminated, carries nothing".to_owned(),
    };
    let colours = (port.role == Role::Pair).then(|| colours(next.from)).flatten();
    let completion = items.offer(CompletionKind::NextFree, label).detail(detail);
    completion.documentation(colours.unwrap_or_default()).also = also;
}

/// Tip and ring of a pair, as they may stand after its number.
fn colours(pair: u32) -> Option<String> {
    let colours = pair_colours(pair)?;
    Some(format!("{}-{}", colours.tip.name(), colours.ring.name()))
}

/// Within an end, after the thing's name.
fn inside(items: &mut Items<'_>, way: &Way, end: Said<'_>, rest: &[Token]) {
    match (rest.len(), end.port) {
        (0, _) => ports(items, way, end),
        (1, Some(port)) if port.is_counted() => {
            let begun = items.written().to_owned();
            let brought = if way.is_start {
                joined::waiting(items.analysis, end.thing, port).collect()
            } else {
                Vec::new()
            };
            let brought = brought.iter().map(|(number, _)| Free {
                from: *number,
                to: *number,
                state: FreeState::Unstated,
            });
            let free = brought.chain(items.allocation().free(items.office(), end.thing, port, way.width));
            let fitting = free
                .filter(|free| written(*free).starts_with(&begun))
                .take(MOST_NUMBERS);
            for free in fitting.collect::<Vec<_>>() {
                number(items, written(free), end.thing, port, free);
            }
            if fit::is_bare(end.kind, port, way.is_start) {
                onward(items, way);
            }
        }
        (1, Some(port)) => match port.numbering {
            Numbering::Named(key) => {
                for (name, ..) in end.of.named(key) {
                    items.offer(CompletionKind::Value, name).detail(port.doc);
                }
            }
            _ => onward(items, way),
        },
        (2, Some(port)) if port.is_counted() => {
            if let Some((from, _)) = end.numbers.filter(|_| port.role == Role::Pair)
                && let Some(colours) = colours(from)
            {
                items
                    .offer(CompletionKind::Colour, colours)
                    .detail(format!("colours of pair {from}"));
            }
            onward(items, way);
            items
                .offer(CompletionKind::Keyword, "..")
                .detail("up to")
                .insert
                .push(' ');
        }
        (3, Some(port)) if port.is_counted() => {
            if let Some((from, _)) = end.numbers {
                let to = from + way.width.max(2) - 1;
                items
                    .offer(CompletionKind::Value, to.to_string())
                    .detail(format!("{} in all", to - from + 1));
            }
        }
        (2.., Some(_)) => onward(items, way),
        _ => {}
    }
}

fn ports(items: &mut Items<'_>, way: &Way, end: Said<'_>) {
    let (id, kind) = (end.thing, end.kind);
    let mut fits: Vec<(Option<u32>, &'static Port)> = kind
        .ports_in(way.medium)
        .map(|port| {
            (
                fit::rank(
                    items,
                    way,
                    Fit {
                        id,
                        thing: end.of,
                        kind,
                        port,
                    },
                ),
                port,
            )
        })
        .collect();
    // What does not fit here comes last, but may be what is meant.
    fits.sort_by_key(|(rank, _)| rank.unwrap_or(u32::MAX));
    for (rank, port) in &fits {
        if rank.is_some()
            && port.is_counted()
            && let Some(next) = next_free(items, way, id, port)
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
    if fits.iter().any(|(_, port)| fit::is_bare(kind, port, way.is_start)) {
        onward(items, way);
    }
}

/// After a whole end: another one, or what joins them.
fn onward(items: &mut Items<'_>, way: &Way) {
    items
        .offer(CompletionKind::Keyword, "->")
        .detail("leads on to")
        .insert
        .push(' ');
    if !way.is_start {
        items
            .offer(CompletionKind::Keyword, "with")
            .detail("sizes and lengths")
            .insert
            .push(' ');
    }
}
