//! Ports that are already joined, and the signals on wires.

use drysheath_office::kinds::{Bare, Port, Role};
use drysheath_office::{TerminalId, ThingId};
use drysheath_syntax::Medium;
use drysheath_workspace::Analysis;
use rustc_hash::FxHashSet;

use super::super::items::Items;

/// The signal on a wire.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum WireSignal {
    Measured,
    Contact,
    /// An output that switches something.
    Switched,
}

/// The ports at which runs of a medium end.
pub(super) struct Joined(FxHashSet<(ThingId, usize, u32)>);

/// Stands for any number or name of a port.
const ANY: u32 = 0;

impl Joined {
    /// Collects the joined ports, ignoring the end that is being written.
    pub fn new(items: &Items<'_>, medium: Medium) -> Self {
        let (office, word) = (items.office(), items.caret.word);
        let mut joined = FxHashSet::default();
        for run in office.runs.iter().filter(|run| run.medium == medium) {
            for (at, end) in run.ends.iter().enumerate() {
                let is_written = end.range.start <= word.end && word.start <= end.range.end;
                let Some(id) = end.thing.filter(|_| !is_written) else {
                    continue;
                };
                if let Some(port) = end.port {
                    joined.insert((id, address(port), ANY));
                    joined.insert((id, address(port), end.numbers.0));
                    continue;
                }
                // A thing named without a port in the middle of a run is entered and left.
                let kind = office.thing(id).kind;
                let bare = kind
                    .into_iter()
                    .flat_map(|kind| kind.ports_in(medium))
                    .filter(|port| match port.bare {
                        Bare::Target => at > 0,
                        Bare::Source => at + 1 < run.ends.len(),
                        Bare::Always => true,
                        Bare::Never => false,
                    });
                joined.extend(bare.map(|port| (id, address(port), ANY)));
            }
        }
        Self(joined)
    }

    /// Whether a run ends at a port.
    pub fn has(&self, id: ThingId, port: &'static Port) -> bool {
        self.0.contains(&(id, address(port), ANY))
    }

    /// Whether a run ends at a number or name of a port.
    pub fn has_number(&self, id: ThingId, port: &'static Port, number: u32) -> bool {
        self.0.contains(&(id, address(port), number))
    }
}

/// Ports are entries of one static table, so addresses identify them.
fn address(port: &'static Port) -> usize {
    std::ptr::from_ref(port).addr()
}

/// The signal on the wire at the start of a run.
pub(super) fn signal(analysis: &Analysis, thing: ThingId, role: Option<Role>, number: u32) -> Option<WireSignal> {
    let of = |role: Role| match role {
        Role::Signal(signal) => Some(if signal.dimension.is_some() {
            WireSignal::Measured
        } else {
            WireSignal::Contact
        }),
        Role::Output => Some(WireSignal::Switched),
        _ => None,
    };
    match role? {
        Role::Pair => {
            let wire = &analysis.networks.wire;
            let kind = analysis.office.thing(thing).kind?;
            let port = kind.ports.iter().find(|port| port.role == Role::Pair)?;
            let pair = wire.find(thing, port, number)?;
            wire.joined_with(pair).find_map(|id| of(wire.terminal(id).port.role))
        }
        role => of(role),
    }
}

/// The device whose signal is on a pair but reaches no input.
pub(super) fn carried<'a>(analysis: &'a Analysis, thing: ThingId, port: &'static Port, number: u32) -> Option<&'a str> {
    let wire = &analysis.networks.wire;
    let id = wire.find(thing, port, number).filter(|_| port.role == Role::Pair)?;
    device(analysis, id)
}

fn device(analysis: &Analysis, id: TerminalId) -> Option<&str> {
    let wire = &analysis.networks.wire;
    let roles = || wire.joined_with(id).map(|other| wire.terminal(other));
    if wire.connections_at(id).len() != 1 || roles().any(|terminal| terminal.port.role.ends_circuit()) {
        return None;
    }
    let signal = roles().find(|terminal| terminal.port.role.begins_circuit())?;
    Some(analysis.office.name(signal.thing))
}

/// The pairs of a thing with a device's signal that reaches no input yet, and the device.
pub(super) fn waiting<'a>(
    analysis: &'a Analysis,
    thing: ThingId,
    port: &'static Port,
) -> impl Iterator<Item = (u32, &'a str)> {
    let pairs = analysis.networks.wire.terminals();
    let own = pairs.filter(move |(_, terminal)| {
        terminal.thing == thing && port.role == Role::Pair && terminal.port.role == Role::Pair
    });
    own.filter_map(|(id, terminal)| Some((terminal.number, device(analysis, id)?)))
}
