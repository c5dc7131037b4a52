//! What is spare, what is accepted, what was read, and which files are used.

use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::{Kind, KindId, Numbering, Port, Role};
use drysheath_office::{Date, ThingId};
use drysheath_rules::{RULES, find};
use drysheath_syntax::{Medium, Token, TokenKind};

use super::items::Items;
use super::{CompletionKind, values};
use crate::days::months_after;
use crate::spares::numbers;

/// The files of parts of the repository.
pub(super) fn files(items: &mut Items<'_>) {
    let used = &items.office().uses;
    let is_used = |path: &str| {
        used.iter()
            .any(|used| *used.value == *path && used.range != items.caret.word)
    };
    let paths = items.snapshot.files_of_parts(items.analysis.file);
    let paths: Vec<String> = paths
        .into_iter()
        .filter(|path| **path != *items.analysis.name && !is_used(path))
        .collect();
    for path in paths {
        items.offer(CompletionKind::File, path).detail("file of parts");
    }
}

fn countable(kind: &'static Kind) -> impl Iterator<Item = &'static Port> {
    kind.ports
        .iter()
        .filter(|port| matches!(port.numbering, Numbering::Count(_) | Numbering::Range(_)))
}

/// `spare tb pair 5 .. 25`: what no run uses and nothing says to be spare comes first.
pub(super) fn spare(items: &mut Items<'_>, before: &[Token]) {
    let (office, text) = (items.office(), items.text());
    let Some((name, rest)) = before.split_first() else {
        let things = office.things().filter_map(|(id, thing)| Some((id, thing.kind?)));
        let countables: Vec<(ThingId, &'static Kind)> =
            things.filter(|(_, kind)| countable(kind).next().is_some()).collect();
        for (id, kind) in &countables {
            unused(items, *id, kind, |port, numbers| {
                format!("{} {} {numbers}", office.name(*id), port.word)
            });
        }
        for (id, kind) in countables {
            items.offer(CompletionKind::Thing, office.name(id)).detail(kind.word());
        }
        return;
    };
    let Some((id, kind)) = items
        .named(name.range.of(text))
        .and_then(|(id, thing)| Some((id, thing.kind?)))
    else {
        return;
    };
    match rest {
        [] => {
            unused(items, id, kind, |port, numbers| format!("{} {numbers}", port.word));
            for port in countable(kind) {
                items
                    .offer(CompletionKind::Port, port.word)
                    .detail(port.doc)
                    .insert
                    .push(' ');
            }
        }
        [word] => {
            let word = word.range.of(text);
            let written = items.written().to_owned();
            let own = countable(kind).filter(|port| port.word == word);
            for port in own {
                for (from, to) in items.allocation().unstated(items.office(), id, port) {
                    let numbers = numbers(from, to);
                    if numbers.starts_with(&written) {
                        items
                            .offer(CompletionKind::NextFree, numbers)
                            .detail("nothing uses it, and nothing says so");
                    }
                }
            }
        }
        [_, _] => {
            items.offer(CompletionKind::Keyword, "..").detail("up to");
        }
        _ => {}
    }
}

fn unused(items: &mut Items<'_>, id: ThingId, kind: &'static Kind, written: impl Fn(&Port, String) -> String) {
    for port in countable(kind) {
        for (from, to) in items.allocation().unstated(items.office(), id, port) {
            let label = written(port, numbers(from, to));
            items
                .offer(CompletionKind::NextFree, label)
                .detail("nothing uses it, and nothing says so");
        }
    }
}

/// `accept RULE on THING because "…" until DATE`: what has results now comes first.
pub(super) fn accept(items: &mut Items<'_>, before: &[Token]) {
    let (office, text) = (items.office(), items.text());
    let open = || {
        items
            .analysis
            .findings()
            .iter()
            .filter(|finding| finding.accepted.is_none())
    };
    match before.iter().map(|token| token.kind).collect::<Vec<_>>().as_slice() {
        [] => {
            let mut given: Vec<&'static str> = open().filter(|it| it.on.is_some()).map(|it| it.rule.name()).collect();
            given.sort_unstable();
            given.dedup();
            for rule in &given {
                let summary = find(rule).map_or("", |rule| rule.summary);
                items
                    .offer(CompletionKind::Rule, *rule)
                    .detail("given in this file")
                    .documentation(summary);
            }
            for rule in RULES.iter().filter(|rule| !given.contains(&rule.name())) {
                let completion = items.offer(CompletionKind::Rule, rule.name());
                completion.detail(rule.family.word()).documentation(rule.summary);
            }
        }
        [_] => keyword(items, "on"),
        [_, TokenKind::On] => {
            let rule = before.first().map_or("", |rule| rule.range.of(text));
            let mut on: Vec<ThingId> = open()
                .filter(|it| it.rule.name() == rule)
                .filter_map(|it| it.on)
                .collect();
            on.dedup();
            for id in &on {
                items
                    .offer(CompletionKind::Thing, office.name(*id))
                    .detail("has this result");
            }
            for (id, thing) in office.things().filter(|(id, _)| !on.contains(id)) {
                let kind = thing.kind.map_or("", |kind| kind.word());
                if !thing.name.is_empty() {
                    items.offer(CompletionKind::Thing, office.name(id)).detail(kind);
                }
            }
        }
        [_, TokenKind::On, _] => keyword(items, "because"),
        [_, TokenKind::On, _, TokenKind::Because] => values::quoted(items, "why it is right as it is"),
        [_, TokenKind::On, _, TokenKind::Because, _] => keyword(items, "until"),
        [.., TokenKind::Until] => {
            let today = items.snapshot.today();
            for (months, detail) in [(12, "in a year"), (6, "in half a year"), (3, "in three months")] {
                day(items, months_after(today, months), detail);
            }
        }
        _ => {}
    }
}

fn keyword(items: &mut Items<'_>, word: &'static str) {
    items.offer(CompletionKind::Keyword, word).insert.push(' ');
}

fn day(items: &mut Items<'_>, day: Date, detail: &str) {
    items.offer(CompletionKind::Date, day.to_string()).detail(detail);
}

/// `reading 2026-05-12 f1 7.5 scfh`.
pub(super) fn reading(items: &mut Items<'_>, before: &[Token]) {
    let (office, text) = (items.office(), items.text());
    let mut before = before.to_vec();
    if before.len() > 1 && items.number_is_complete() {
        before.extend(items.caret.before.last());
    }
    let (name, rest) = match before.as_slice() {
        [] => return day(items, items.snapshot.today(), "today"),
        [_] => {
            let things = office.things().filter_map(|(id, thing)| Some((id, thing.kind?)));
            for (id, kind) in things.filter(|(_, kind)| is_read(kind)) {
                items.offer(CompletionKind::Thing, office.name(id)).detail(kind.word());
            }
            return;
        }
        [_, name, rest @ ..] => (name, rest),
    };
    let Some((_, thing)) = items.named(name.range.of(text)) else {
        return;
    };
    let Some(kind) = thing.kind else { return };
    let words: Vec<&str> = rest.iter().map(|token| token.range.of(text)).collect();
    match (words.split_first(), rest.split_first()) {
        (Some((&"supply", _)), Some((_, value))) => {
            values::quantity(items, Dimension::Voltage, "supply", false, value);
        }
        (Some((&"decay", _)), Some((_, value))) => decay(items, value),
        _ => signal(items, kind, rest),
    }
}

fn is_read(kind: &Kind) -> bool {
    let signal = |port: &Port| matches!(port.role, Role::Signal(_) | Role::Load);
    kind.id == KindId::Cable || kind.ports.iter().any(signal)
}

fn signal(items: &mut Items<'_>, kind: &'static Kind, rest: &[Token]) {
    let text = items.text();
    let word = rest.first().map_or("", |first| first.range.of(text));
    let signals = || {
        kind.ports_in(Medium::Wire)
            .filter(|port| matches!(port.role, Role::Signal(_)))
    };
    let named = signals().find(|port| port.word == word);
    let after = if named.is_some() { rest.get(1..) } else { Some(rest) }.unwrap_or_default();
    let port = named.or_else(|| signals().next());
    let dimension = port.and_then(|port| match port.role {
        Role::Signal(signal) => signal.dimension,
        _ => None,
    });
    if let Some((first, value)) = after.split_first()
        && first.range.of(text) == "loop"
    {
        values::quantity(items, Dimension::Resistance, "loop", false, value);
        return;
    }
    if !after.is_empty() {
        if let Some(dimension) = dimension {
            values::quantity(items, dimension, "reading", false, after);
        }
        return;
    }
    if named.is_none() && signals().count() > 1 {
        for port in signals() {
            items
                .offer(CompletionKind::Port, port.word)
                .detail(port.doc)
                .insert
                .push(' ');
        }
    }
    let words = [
        (port.is_some(), "loop", "resistance of its loop"),
        (
            kind.ports.iter().any(|port| port.role == Role::Load),
            "supply",
            "voltage at its terminals",
        ),
        (
            kind.id == KindId::Cable,
            "decay",
            "how fast it lost its pressure while it was closed",
        ),
    ];
    for (_, word, detail) in words.into_iter().filter(|(fits, ..)| *fits) {
        items
            .offer(CompletionKind::Keyword, word)
            .detail(detail)
            .insert
            .push(' ');
    }
}

/// `decay 9.4 psi .. 9.1 psi in 12 min at 61 degF .. 60 degF`
fn decay(items: &mut Items<'_>, value: &[Token]) {
    let text = items.text();
    let find = |word: &str| value.iter().position(|token| token.range.of(text) == word);
    let after = |at: usize| value.get(at + 1..).unwrap_or_default();
    // `in` is a unit of length too, but no pressure is measured in it.
    if let Some(at) = find("at") {
        values::range(items, Dimension::Temperature, "at", after(at));
    } else if let Some(at) = find("in") {
        if values::quantity(items, Dimension::Time, "decay", false, after(at)) {
            items
                .offer(CompletionKind::Keyword, "at")
                .detail("temperatures before and after")
                .insert
                .push(' ');
        }
    } else if values::range(items, Dimension::Pressure, "decay", value) {
        items
            .offer(CompletionKind::Keyword, "in")
            .detail("how long it took")
            .insert
            .push(' ');
    }
}
