//! What is joined already, and what the lines carry.

use drysheath_office::kinds::{Bare, Port, Role};
use drysheath_office::{TerminalId, ThingId};
use drysheath_syntax::Medium;
use drysheath_workspace::Analysis;
use rustc_hash::FxHashSet;

use super::super::items::Items;

/// What a wire carries.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Carried {
    Measured,
    Contact,
    /// An output switches something.
    Switched,
}

/// The ports that runs of a medium end on.
pub(super) struct Joined(FxHashSet<(ThingId, usize, u32)>);

/// Stands for any of a port's numbers and names.
const ANY: u32 = 0;

impl Joined {
    /// The end that is being written counts for nothing.
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

    /// Whether a run ends on a port.
    pub fn has(&self, id: ThingId, port: &'static Port) -> bool {
        self.0.contains(&(id, address(port), ANY))
    }

    /// Whether a run ends on a numbered or named one of a port.
    pub fn has_number(&self, id: ThingId, port: &'static Port, number: u32) -> bool {
        self.0.contains(&(id, address(port), number))
    }
}

/// Ports are entries of one static table.
fn address(port: &'static Port) -> usize {
    std::ptr::from_ref(port).addr()
}

/// What the line carries that a run starts on.
pub(super) fn signal(analysis: &Analysis, thing: ThingId, role: Option<Role>, number: u32) -> Option<Carried> {
    let of = |role: Role| match role {
        Role::Signal(signal) => Some(if signal.dimension.is_some() {
            Carried::Measured
        } else {
            Carried::Contact
        }),
        Role::Output => Some(Carried::Switched),
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

/// The device whose signal a pair carries to no input.
pub(super) fn carried<'a>(analysis: &'a Analysis, thing: ThingId, port: &'static Port, number: u32) -> Option<&'a str> {
    let wire = &analysis.networks.wire;
    let id = wire.find(thing, port, number).filter(|_| port.role == Role::Pair)?;
    device(analysis, id)
}

fn device(analysis: &Analysis, id: TerminalId) -> Option<&str> {
    let wire = &analysis.networks.wire;
    let roles = || wire.joined_with(id).map(|other| wire.terminal(other));
    if wire.joints_at(id).len() != 1 || roles().any(|terminal| terminal.port.role.ends_circuit()) {
        return None;
    }
    let signal = roles().find(|terminal| terminal.port.role.begins_circuit())?;
    Some(analysis.office.name(signal.thing))
}

/// The pairs of a thing that carry a device's signal to no input yet, and the device.
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
