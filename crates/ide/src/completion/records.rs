//! Completes `spare`, `accept`, `reading` and `use` statements, among others.

use drysheath_office::kinds::{Kind, KindId, Port, Role};
use drysheath_office::{Candidate, Date, ThingId, numbers_written};
use drysheath_rules::{Finding, RULES, find};
use drysheath_syntax::{Expected, IncompleteStatement, Medium, PairState, Token, TokenKind};
use drysheath_workspace::Analysis;

use super::items::Items;
use super::{CompletionKind, values};

/// Offers the files of parts of the repository.
fn files(items: &mut Items<'_>) {
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
    kind.ports.iter().filter(|port| port.can_be_spare())
}

/// Completes `spare tb pair 5 .. 25`: numbers neither used nor declared spare come first.
pub(super) fn spare(items: &mut Items<'_>, before: &[Token]) {
    let office = items.office();
    let (end, mut candidates) = office.candidates_in_spare(before);
    // `rest` comes after the numbers that it includes.
    candidates.sort_by_key(|candidate| matches!(candidate, Candidate::Word(_)));
    let kind = |id| Some((id, office.thing(id).kind?));
    for candidate in candidates {
        match (candidate, end.thing.and_then(kind)) {
            (Candidate::Thing, _) => {
                let things = items.named_things().filter_map(|(id, _)| kind(id));
                let countables: Vec<_> = things.filter(|(_, kind)| countable(kind).next().is_some()).collect();
                for (id, kind) in &countables {
                    unused(items, *id, kind, |port, numbers| {
                        format!("{} {} {numbers}", office.name(*id), port.word)
                    });
                }
                for (id, _) in countables {
                    items.offer_thing(id);
                }
            }
            (Candidate::Port, Some((id, kind))) => {
                unused(items, id, kind, |port, numbers| format!("{} {numbers}", port.word));
                for port in countable(kind) {
                    port_word(items, port);
                }
            }
            (Candidate::PortNumber(port), Some((id, _))) => unstated(items, id, port),
            (Candidate::NameOf(thing, key), _) => values::names(items, thing, key, key.word()),
            (Candidate::Word(word), _) => {
                items
                    .offer(CompletionKind::Keyword, word)
                    .detail("whatever no other statement names");
            }
            (Candidate::Dots, _) => values::dots(items),
            _ => {}
        }
    }
}

/// Offers the numbers of a port that are neither used nor declared.
fn unstated(items: &mut Items<'_>, id: ThingId, port: &'static Port) {
    let written = items.written().to_owned();
    for (from, to) in items.allocation().unstated(items.office(), id, port) {
        let numbers = numbers_written(from, to);
        if numbers.starts_with(&written) {
            items
                .offer(CompletionKind::NextFree, numbers)
                .detail("nothing uses it, and nothing says so");
        }
    }
}

/// Completes `assigned c101 pair 1 .. 30 to "subscribers"` and `defective c101 pair 31 because "open at mh-4"`.
pub(super) fn stated(items: &mut Items<'_>, state: PairState, before: &[Token]) {
    let office = items.office();
    let (end, candidates) = office.candidates_in_stated(state, before);
    let kind = |id| office.thing(id).kind;
    let has_pairs = |kind: &'static Kind| kind.ports_in(Medium::Wire).filter(|port| port.is_counted());
    for candidate in candidates {
        match (candidate, end.thing.and_then(kind)) {
            (Candidate::Thing, _) => {
                let things = items.named_things().filter_map(|(id, _)| Some((id, kind(id)?)));
                for (id, _) in things.filter(|(_, kind)| has_pairs(kind).next().is_some()) {
                    items.offer_thing(id);
                }
            }
            (Candidate::Port, Some(kind)) => {
                for port in has_pairs(kind) {
                    port_word(items, port);
                }
            }
            (Candidate::PortNumber(port), _) => {
                if let Some(id) = end.thing {
                    unstated(items, id, port);
                }
            }
            (Candidate::Word(word), _) => keyword(items, word),
            (Candidate::Text, _) => values::quoted(
                items,
                match state {
                    PairState::Assigned => "who has them",
                    PairState::Defective => "what is wrong with them",
                    PairState::Bunched => "why they are joined",
                    PairState::Tapped => "why a third wire is on them",
                },
            ),
            (Candidate::Dots, _) => values::dots(items),
            _ => {}
        }
    }
}

fn port_word(items: &mut Items<'_>, port: &Port) {
    items
        .offer(CompletionKind::Port, port.word)
        .detail(port.doc)
        .insert
        .push(' ');
}

fn unused(items: &mut Items<'_>, id: ThingId, kind: &'static Kind, written: impl Fn(&Port, String) -> String) {
    for port in countable(kind) {
        for (from, to) in items.allocation().unstated(items.office(), id, port) {
            let label = written(port, numbers_written(from, to));
            items
                .offer(CompletionKind::NextFree, label)
                .detail("nothing uses it, and nothing says so");
        }
    }
}

/// Offers what the grammar expects next in an unfinished statement: `use`, `accept`, and `reading` before its date.
pub(super) fn offer(items: &mut Items<'_>, unfinished: &IncompleteStatement, expected: Expected) {
    let before = unfinished.before();
    let is_accept = before.first().is_some_and(|first| first.kind == TokenKind::Accept);
    match expected {
        Expected::PartsFile => files(items),
        Expected::RuleName => rules(items),
        Expected::AcceptedThing => accepted_things(items, before.get(1).map_or("", |rule| rule.range.of(items.text()))),
        Expected::Reason => values::quoted(items, "why it is right as it is"),
        Expected::On => keyword(items, "on"),
        Expected::Because => keyword(items, "because"),
        Expected::Until => keyword(items, "until"),
        Expected::Date if is_accept => {
            let today = items.snapshot.today();
            for (months, detail) in [(12, "in a year"), (6, "in half a year"), (3, "in three months")] {
                day(items, today.months_later(months), detail);
            }
        }
        Expected::Date => day(items, items.snapshot.today(), "today"),
        _ => {}
    }
}

/// The results of the file that are not accepted.
fn open_findings(analysis: &Analysis) -> impl Iterator<Item = &Finding> {
    analysis.findings().iter().filter(|finding| finding.accepted.is_none())
}

/// Offers the rules that can be accepted; those with results in this file come first.
fn rules(items: &mut Items<'_>) {
    let on_things =
        open_findings(items.analysis).filter(|finding| finding.on.is_some() && finding.rule.can_be_accepted());
    let mut given: Vec<&'static str> = on_things.map(|finding| finding.rule.name()).collect();
    given.sort_unstable();
    given.dedup();
    for rule in &given {
        let summary = find(rule).map_or("", |rule| rule.summary);
        items
            .offer(CompletionKind::Rule, *rule)
            .detail("given in this file")
            .documentation(summary);
    }
    let others = RULES
        .iter()
        .filter(|rule| rule.can_be_accepted() && rule.is_about_things() && !given.contains(&rule.name()));
    for rule in others {
        let completion = items.offer(CompletionKind::Rule, rule.name());
        completion.detail(rule.family.word()).documentation(rule.summary);
    }
}

/// Offers the things on which a result of a rule can be accepted; those with such a result come first.
fn accepted_things(items: &mut Items<'_>, rule: &str) {
    let office = items.office();
    let of_rule = open_findings(items.analysis).filter(|finding| finding.rule.name() == rule);
    let mut on: Vec<ThingId> = of_rule.filter_map(|finding| finding.on).collect();
    on.dedup();
    for id in &on {
        items
            .offer(CompletionKind::Thing, office.name(*id))
            .detail("has this result");
    }
    for (id, thing) in office.things().filter(|(id, _)| !on.contains(id)) {
        if !thing.name.is_empty() {
            items.offer_thing(id);
        }
    }
}

fn keyword(items: &mut Items<'_>, word: &'static str) {
    items.offer(CompletionKind::Keyword, word).insert.push(' ');
}

fn day(items: &mut Items<'_>, day: Date, detail: &str) {
    items.offer(CompletionKind::Date, day.to_string()).detail(detail);
}

/// Completes `reading 2026-05-12 f1 7.5 scfh`.
pub(super) fn reading(items: &mut Items<'_>, what: &[Token]) {
    let office = items.office();
    let mut what = what.to_vec();
    if !what.is_empty() && items.number_is_complete() {
        what.extend(items.caret.before.last());
    }
    let (end, candidates) = office.candidates_in_reading(&what);
    let kind = end.thing.and_then(|id| office.thing(id).kind);
    for candidate in &candidates {
        match candidate {
            Candidate::Thing => {
                let things = office.things().filter_map(|(id, thing)| Some((id, thing.kind?)));
                for (id, _) in things.filter(|(_, kind)| is_read(kind)) {
                    items.offer_thing(id);
                }
            }
            Candidate::Choice(choices) => {
                for choice in *choices {
                    items.offer(CompletionKind::Choice, choice.word()).detail(choice.doc());
                }
            }
            Candidate::Port => {
                let signals: Vec<_> = kind.into_iter().flat_map(signals).collect();
                if signals.len() > 1 {
                    for port in signals {
                        port_word(items, port);
                    }
                }
            }
            _ => {}
        }
    }
    values::all(items, "reading", &candidates);
}

fn signals(kind: &'static Kind) -> impl Iterator<Item = &'static Port> {
    let wires = kind.ports_in(Medium::Wire);
    wires.filter(|port| matches!(port.role, Role::Signal(_)))
}

fn is_read(kind: &'static Kind) -> bool {
    let has_load = || kind.ports.iter().any(|port| port.role == Role::Load);
    matches!(kind.id, KindId::Cable | KindId::AirPipe)
        || kind.gives_air()
        || signals(kind).next().is_some()
        || has_load()
}
