//! Ranks ports as the next end of a run.

use drysheath_office::kinds::{Bare, Key, Kind, KindId, Port, Role, SignalSource};
use drysheath_office::{Fields, Thing, ThingId};
use drysheath_syntax::Medium;

use super::super::items::Items;
use super::joined::{self, Joined, WireSignal};

/// The context of a run before the end that is being written.
pub(super) struct RunContext {
    pub medium: Medium,
    /// Whether this is the first end of the run.
    pub is_start: bool,
    /// Number of numbers of the previous end.
    pub width: u32,
    /// Role of the previous end.
    pub last: Option<Role>,
    pub last_thing: Option<ThingId>,
    /// Whether the run carries a measured signal or a contact. `None` if not known.
    pub signal: Option<WireSignal>,
    /// The cable or pipe that the run's first thing is located on.
    pub host: Option<ThingId>,
    /// Ports joined by other runs.
    pub joined: Joined,
    /// Things that the run has passed.
    pub passed: Vec<ThingId>,
}

/// A port of a thing that the next end of a run could be.
#[derive(Clone, Copy)]
pub(super) struct PortCandidate<'a> {
    pub id: ThingId,
    pub thing: &'a Thing,
    pub kind: &'static Kind,
    pub port: &'static Port,
}

/// Whether naming only the thing means this port.
pub(super) fn is_bare(kind: &'static Kind, port: &'static Port, is_start: bool) -> bool {
    let fits = |port: &Port| match port.bare {
        Bare::Always => true,
        Bare::Target => !is_start,
        Bare::Source => is_start,
        Bare::Never => false,
    };
    kind.ports_in(port.medium)
        .find(|port| fits(port))
        .is_some_and(|first| std::ptr::eq(first, port))
}

/// Rank of a port, lowest is best. `None` if it does not fit.
pub(super) fn rank(items: &Items<'_>, run: &RunContext, fit: PortCandidate<'_>) -> Option<u32> {
    if run.passed.contains(&fit.id) {
        return None;
    }
    match run.medium {
        Medium::Wire => wire(items, run, fit),
        Medium::Air => air(run, fit),
        Medium::Power => power(run, fit),
        Medium::Ground => ground(run, fit),
    }
}

/// Ranks ports without a run before those with one.
fn open_first(run: &RunContext, fit: PortCandidate<'_>, open: u32, joined: u32) -> u32 {
    if run.joined.has(fit.id, fit.port) { joined } else { open }
}

fn wire(items: &Items<'_>, run: &RunContext, fit: PortCandidate<'_>) -> Option<u32> {
    // A connector mates with a connector, and ends the run.
    if run.last == Some(Role::Connector) && fit.port.role != Role::Connector {
        return None;
    }
    match fit.port.role {
        Role::Signal(signal) => {
            let is_there = match signal.source {
                SignalSource::Group(key) => fit.thing.has(key),
                SignalSource::Own | SignalSource::Named(_) => true,
            };
            let leads_back = run.signal.is_none() && run.last.is_some_and(|last| last == Role::Pair || last.is_input());
            (is_there && (run.is_start || leads_back)).then(|| open_first(run, fit, 0, 3))
        }
        Role::Pair if run.is_start => {
            let brings = joined::waiting(items.analysis, fit.id, fit.port).next().is_some();
            Some(if brings { 1 } else { 5 })
        }
        Role::Pair if fit.kind.id == KindId::Cable => match run.host {
            Some(host) if host == fit.id && run.passed.len() == 1 => Some(0),
            _ => Some(5),
        },
        // A signal that has reached a block continues to an input.
        Role::Pair => Some(if run.last == Some(Role::Pair) && !is_from_cable(items, run) {
            6
        } else {
            1
        }),
        Role::Connector if fit.thing.has(Key::Connector) => match run.last {
            None => Some(6),
            Some(Role::Connector) => Some(0),
            _ => None,
        },
        Role::Output => run.is_start.then(|| open_first(run, fit, 2, 4)),
        role if role.ends_circuit() => {
            let carried = match role {
                Role::ContactInput => WireSignal::Contact,
                Role::Control => WireSignal::Switched,
                _ => WireSignal::Measured,
            };
            run.signal
                .is_none_or(|signal| signal == carried)
                .then_some(if run.is_start { 7 } else { 2 })
        }
        _ => None,
    }
}

/// Whether the previous end is a pair of a cable or lead.
fn is_from_cable(items: &Items<'_>, run: &RunContext) -> bool {
    let last = run.last_thing.map(|id| items.office().thing(id));
    last.is_some_and(|thing| thing.is(KindId::Cable) || thing.is(KindId::Lead))
}

fn air(run: &RunContext, fit: PortCandidate<'_>) -> Option<u32> {
    match fit.port.role {
        Role::Outlet if run.is_start => Some(match fit.kind.id {
            KindId::Manifold => 0,
            _ => open_first(run, fit, 1, 5),
        }),
        Role::Inlet if !run.is_start => Some(open_first(run, fit, 0, 5)),
        Role::Tap => Some(6),
        _ => None,
    }
}

fn power(run: &RunContext, fit: PortCandidate<'_>) -> Option<u32> {
    match fit.port.role {
        Role::Fuse => Some(if run.is_start { 0 } else { 7 }),
        Role::Battery => run.is_start.then_some(1),
        Role::Load => (!run.is_start).then(|| open_first(run, fit, 0, 5)),
        Role::PanelInput => (!run.is_start).then(|| open_first(run, fit, 1, 6)),
        _ => None,
    }
}

fn ground(run: &RunContext, fit: PortCandidate<'_>) -> Option<u32> {
    let is_principal = fit.thing.yes_no(Key::Principal) == Some(true);
    match fit.port.role {
        Role::Frame => Some(if run.is_start { open_first(run, fit, 0, 5) } else { 8 }),
        Role::Bar => Some(match (run.is_start, is_principal) {
            (true, _) => 6,
            (false, true) => 0,
            (false, false) => 1,
        }),
        Role::Return => Some(7),
        _ => None,
    }
}
