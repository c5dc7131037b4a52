//! The paths of signals over pairs from device to input, and joined pairs without a signal.

use drysheath_office::kinds::Role;
use drysheath_office::{Office, Signal, Terminal, TerminalId, ThingId, Wiring};
use drysheath_text::TextRange;
use rustc_hash::FxHashSet;

use super::{ChangePlace, Changes, OfficeState};
use crate::compare::names;
use crate::compare::record::{Deed, Of};

/// A terminal identified by a number for its thing, its port's word and its own number.
pub(super) type TerminalKey = (i64, &'static str, u32);

impl Changes<'_> {
    /// Records changed paths of signals, and changed pairs without a signal.
    pub(super) fn circuits(&mut self) {
        let (base, head) = (self.base, self.head);
        for (id, thing) in head.office.things() {
            let Some(before) = self.matching.base_of(id) else {
                continue;
            };
            let old = base.office.signals(before);
            for signal in head.office.signals(id) {
                let was = old.iter().find(|was| is_same(was, &signal));
                let (from, to) = (
                    was.map_or_else(Vec::new, |was| path_of(&base, was)),
                    path_of(&head, &signal),
                );
                let keys = |path: &[Terminal], number: &dyn Fn(ThingId) -> i64| -> Vec<TerminalKey> {
                    path.iter().map(|terminal| key(terminal, number)).collect()
                };
                if keys(&from, &|thing| self.matching.number(thing)) == keys(&to, &own) {
                    continue;
                }
                let told = (shown(base.office, &from), shown(head.office, &to));
                let deed = match &told {
                    (None, _) => Deed::Added,
                    (_, None) => Deed::Removed,
                    _ => Deed::Moved,
                };
                let at = ChangePlace::Head(wired_at(&head, &signal).unwrap_or(thing.name));
                self.tell(deed, Of::Wire, signal_name(head.office, &signal), told, &at);
            }
        }
        self.pairs();
    }

    /// Records changed joints of pairs and inputs without a signal.
    fn pairs(&mut self) {
        let (base, head) = (self.base, self.head);
        let before = silent(&base, &|thing| self.matching.number(thing));
        let after = silent(&head, &own);
        let keys = |joints: &[UnsignalledWire]| -> FxHashSet<(TerminalKey, TerminalKey)> {
            joints.iter().map(|joint| joint.key).collect()
        };
        let (known, now) = (keys(&before), keys(&after));
        for (deed, state, joints, others) in [
            (Deed::Added, &head, &after, &known),
            (Deed::Removed, &base, &before, &now),
        ] {
            let left: Vec<&UnsignalledWire> = joints.iter().filter(|joint| !others.contains(&joint.key)).collect();
            for run in left.chunk_by(|one, other| one.leads_to(other)) {
                let Some(first) = run.first() else { continue };
                let ends = |end: fn(&UnsignalledWire) -> Terminal| {
                    let ends: Vec<Terminal> = run.iter().map(|joint| end(joint)).collect();
                    names::ranges(state.office, &ends)
                };
                let told = format!("{} -> {}", ends(|joint| joint.from), ends(|joint| joint.to));
                let at = if deed == Deed::Added {
                    ChangePlace::Head(first.range)
                } else {
                    ChangePlace::Base(first.range)
                };
                self.tell(deed, Of::Wire, told, (None, None), &at);
            }
        }
    }
}

/// The paths of all signals of a thing that only one state has, as text.
pub(super) fn circuits_of(state: &OfficeState<'_>, thing: ThingId) -> Option<String> {
    let signals = state.office.signals(thing);
    let told: Vec<String> = signals
        .iter()
        .filter_map(|signal| {
            let path = shown(state.office, &path_of(state, signal))?;
            Some(if signals.len() > 1 {
                format!("{} -> {path}", signal_name(state.office, signal))
            } else {
                path
            })
        })
        .collect();
    (!told.is_empty()).then(|| told.join("; "))
}

/// Things of the head are identified by their own ids.
pub(super) fn own(thing: ThingId) -> i64 {
    i64::from(u32::from(thing))
}

fn is_same(one: &Signal<'_>, other: &Signal<'_>) -> bool {
    // Named signals are identified by their names, since their numbers shift with the order of the file.
    one.port.word == other.port.word && one.name == other.name
}

fn key(terminal: &Terminal, number: &dyn Fn(ThingId) -> i64) -> TerminalKey {
    (number(terminal.thing), terminal.port.word, terminal.number)
}

fn start(state: &OfficeState<'_>, signal: &Signal<'_>) -> Option<TerminalId> {
    state.networks.wire.find(signal.thing, signal.port, signal.number)
}

/// The terminals that a signal passes, in order.
fn path_of(state: &OfficeState<'_>, signal: &Signal<'_>) -> Vec<Terminal> {
    let wire = &state.networks.wire;
    let Some(start) = start(state, signal) else {
        return Vec::new();
    };
    let mut seen = FxHashSet::from_iter([start]);
    let mut open = vec![start];
    let mut path = Vec::new();
    while let Some(at) = open.pop() {
        if at != start {
            path.push(*wire.terminal(at));
        }
        let mut next: Vec<TerminalId> = wire
            .connections_at(at)
            .map(|joint| if joint.from == at { joint.to } else { joint.from })
            .filter(|next| seen.insert(*next))
            .collect();
        next.reverse();
        open.append(&mut next);
    }
    path
}

/// Where the first run of a signal's path names it.
fn wired_at(state: &OfficeState<'_>, signal: &Signal<'_>) -> Option<TextRange> {
    let start = start(state, signal)?;
    let joint = state.networks.wire.connections_at(start).next()?;
    Some(joint.range_at(start))
}

fn shown(office: &Office, path: &[Terminal]) -> Option<String> {
    let told: Vec<String> = path.iter().map(|terminal| names::terminal(office, terminal)).collect();
    (!told.is_empty()).then(|| told.join(" -> "))
}

/// Name of a signal in a run.
fn signal_name(office: &Office, signal: &Signal<'_>) -> String {
    names::end(office, signal.thing, signal.port, signal.number)
}

/// A joint of two terminals without a signal.
struct UnsignalledWire {
    key: (TerminalKey, TerminalKey),
    from: Terminal,
    to: Terminal,
    range: TextRange,
}

impl UnsignalledWire {
    /// Whether `next` joins the next pair of the same range.
    fn leads_to(&self, next: &Self) -> bool {
        let follows = |one: TerminalKey, other: TerminalKey| (one.0, one.1, one.2 + 1) == other;
        follows(self.key.0, next.key.0) && follows(self.key.1, next.key.1)
    }
}

/// The joints without a signal, sorted by their ends.
fn silent(state: &OfficeState<'_>, number: &dyn Fn(ThingId) -> i64) -> Vec<UnsignalledWire> {
    let wire = &state.networks.wire;
    let mut silent = Vec::new();
    for group in wire.groups() {
        let has_signal = group.clone().any(|id| is_signal(wire, id));
        if has_signal {
            continue;
        }
        for id in group {
            for joint in wire.connections_at(id).filter(|joint| joint.from == id) {
                let (from, to) = (wire.terminal(joint.from), wire.terminal(joint.to));
                silent.push(UnsignalledWire {
                    key: (key(from, number), key(to, number)),
                    from: *from,
                    to: *to,
                    range: joint.from_range,
                });
            }
        }
    }
    silent.sort_by_key(|joint| joint.key);
    silent
}

fn is_signal(wire: &Wiring, id: TerminalId) -> bool {
    matches!(wire.terminal(id).port.role, Role::Signal(_))
}
