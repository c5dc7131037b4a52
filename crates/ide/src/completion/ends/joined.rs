//! What is joined already, and what the lines carry.

use drysheath_office::kinds::{Bare, Port, Role};
use drysheath_office::{TerminalId, ThingId};

use super::super::items::Items;
use super::fit::Carried;
use crate::Analysis;

/// Whether a run other than the one that is being written ends on a port. The number counts for named ports.
pub(super) fn is_joined(items: &Items<'_>, id: ThingId, port: &'static Port, number: u32) -> bool {
    let word = items.caret.word;
    let runs = items.office().runs.iter().filter(|run| run.medium == port.medium);
    runs.flat_map(|run| run.ends.iter().enumerate().map(move |(at, end)| (run, at, end)))
        .any(|(run, at, end)| {
            let is_written = end.range.start <= word.end && word.start <= end.range.end;
            let is_port = match end.port {
                Some(own) => std::ptr::eq(own, port) && (number == 0 || end.numbers.0 == number),
                // A thing that stands bare in the middle of a run is entered and left.
                None => match port.bare {
                    Bare::Target => at > 0,
                    Bare::Source => at + 1 < run.ends.len(),
                    Bare::Always => true,
                    Bare::Never => false,
                },
            };
            end.thing == Some(id) && is_port && !is_written
        })
}

/// What the line carries that a run starts on.
pub(super) fn signal(
    analysis: &Analysis,
    thing: ThingId,
    role: Option<Role>,
    numbers: Option<(u32, u32)>,
) -> Option<Carried> {
    let of = |role: Role| match role {
        Role::Signal(signal) => Some(if signal.dimension.is_some() {
            Carried::Measured
        } else {
            Carried::Contact
        }),
        _ => None,
    };
    match role? {
        Role::Pair => {
            let wire = &analysis.networks.wire;
            let kind = analysis.office.thing(thing)?.kind?;
            let port = kind.ports.iter().find(|port| port.role == Role::Pair)?;
            let pair = wire.find(thing, port, numbers?.0)?;
            wire.joined_with(pair).find_map(|id| of(wire.terminal(id)?.port.role))
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
    let roles = || wire.joined_with(id).filter_map(|other| wire.terminal(other));
    if wire.joints_at(id).len() != 1 || roles().any(|terminal| terminal.port.role.is_input()) {
        return None;
    }
    let signal = roles().find(|terminal| matches!(terminal.port.role, Role::Signal(_)))?;
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
