//! Completes `when` statements: `when c101 leaks 10 scfh at 2.1 km expect ps1 low`.

use drysheath_office::kinds::{Bare, Kind, Port, Role, SignalSource};
use drysheath_office::{Candidate, Fields, Thing, can_be_expected, possible_events};
use drysheath_syntax::{Medium, Token, TokenKind};

use super::items::Items;
use super::{CompletionKind, values};

/// Offers continuations of `before`, the tokens from `when` on.
pub(super) fn offer(items: &mut Items<'_>, before: &[Token]) {
    let office = items.office();
    let is_expected = before.iter().any(|token| token.kind == TokenKind::Expect);
    let is_clause = |token: &Token| matches!(token.kind, TokenKind::When | TokenKind::Comma | TokenKind::Expect);
    let start = before.iter().rposition(is_clause).map_or(0, |at| at + 1);
    let clause = before.get(start..).unwrap_or_default();
    let candidates = if is_expected {
        office.candidates_in_expectation(clause)
    } else {
        office.candidates_in_event(clause)
    };
    let fits = |kind: &Kind| {
        if is_expected {
            can_be_expected(kind)
        } else {
            !possible_events(kind).is_empty()
        }
    };
    let named = clause
        .first()
        .and_then(|token| office.named(token.range.of(items.text())));
    for candidate in &candidates {
        match candidate {
            Candidate::Thing => {
                for (id, _) in items.named_things().filter(|(_, thing)| thing.kind.is_some_and(fits)) {
                    items.offer_thing(id).insert.push(' ');
                }
            }
            Candidate::Port => {
                let Some(thing) = named.map(|id| office.thing(id)) else {
                    continue;
                };
                let signals = thing.kind.into_iter().flat_map(|kind| kind.ports_in(Medium::Wire));
                let signals: Vec<_> = signals.filter(|port| has_signal(thing, port)).collect();
                // The only one is not named, unless its kind may have several of them.
                if signals.len() > 1 || signals.iter().any(|port| port.bare == Bare::Never) {
                    for port in signals {
                        let offered = items.offer(CompletionKind::Port, port.word);
                        offered.detail(port.doc).insert.push(' ');
                    }
                }
            }
            Candidate::Onward if !is_expected => {
                let offered = items.offer(CompletionKind::Keyword, "expect");
                offered.detail("what must hold then").insert.push(' ');
            }
            _ => {}
        }
    }
    values::all(items, "when", &candidates);
}

/// Whether a port of a thing gives a signal that the file declares.
fn has_signal(thing: &Thing, port: &Port) -> bool {
    match port.role {
        Role::Signal(signal) => match signal.source {
            SignalSource::Group(key) => thing.has(key),
            SignalSource::Own | SignalSource::Named(_) => true,
        },
        _ => false,
    }
}
