//! How well a port fits as the next end of a run.

use drysheath_office::kinds::{Bare, Key, Kind, KindId, Port, Role, SignalSource};
use drysheath_office::{Fields, Thing, ThingId};
use drysheath_syntax::Medium;

use super::super::items::Items;
use super::joined::{self, Carried, Joined};

/// What is known of a run before the end that is being written.
pub(super) struct RunSoFar {
    pub medium: Medium,
    /// Whether it is the first end of the run.
    pub is_start: bool,
    /// How many numbers the end before it has.
    pub width: u32,
    /// What the end before it is.
    pub last: Option<Role>,
    pub last_thing: Option<ThingId>,
    /// Whether what the run carries is measured, or the state of a contact; none where that is not known.
    pub signal: Option<Carried>,
    /// The cable or pipe that the run's first thing is located at.
    pub host: Option<ThingId>,
    /// What other runs end on.
    pub joined: Joined,
    /// The things that the run has led over.
    pub passed: Vec<ThingId>,
}

/// A port that may be an end.
#[derive(Clone, Copy)]
pub(super) struct Fit<'a> {
    pub id: ThingId,
    pub thing: &'a Thing,
    pub kind: &'static Kind,
    pub port: &'static Port,
}

/// Whether naming the thing alone means this port.
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

/// How well a port fits; the least is best, and none does not fit.
pub(super) fn rank(items: &Items<'_>, run: &RunSoFar, fit: Fit<'_>) -> Option<u32> {
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

/// What has no run yet comes before what has one.
fn open_first(run: &RunSoFar, fit: Fit<'_>, open: u32, joined: u32) -> u32 {
    if run.joined.has(fit.id, fit.port) { joined } else { open }
}

fn wire(items: &Items<'_>, run: &RunSoFar, fit: Fit<'_>) -> Option<u32> {
    // A connector mates with a connector, and the run ends there.
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
        // What has come to a block goes on to an input.
        Role::Pair => Some(if run.last == Some(Role::Pair) && !came_from_afar(items, run) {
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
                Role::ContactInput => Carried::Contact,
                Role::Control => Carried::Switched,
                _ => Carried::Measured,
            };
            run.signal
                .is_none_or(|signal| signal == carried)
                .then_some(if run.is_start { 7 } else { 2 })
        }
        _ => None,
    }
}

/// Whether the end before is a pair of a cable or a lead.
fn came_from_afar(items: &Items<'_>, run: &RunSoFar) -> bool {
    let last = run.last_thing.map(|id| items.office().thing(id));
    last.is_some_and(|thing| thing.is(KindId::Cable) || thing.is(KindId::Lead))
}

fn air(run: &RunSoFar, fit: Fit<'_>) -> Option<u32> {
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

fn power(run: &RunSoFar, fit: Fit<'_>) -> Option<u32> {
    match fit.port.role {
        Role::Fuse => Some(if run.is_start { 0 } else { 7 }),
        Role::Battery => run.is_start.then_some(1),
        Role::Load => (!run.is_start).then(|| open_first(run, fit, 0, 5)),
        Role::PanelInput => (!run.is_start).then(|| open_first(run, fit, 1, 6)),
        _ => None,
    }
}

fn ground(run: &RunSoFar, fit: Fit<'_>) -> Option<u32> {
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
