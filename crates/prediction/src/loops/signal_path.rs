//! The path of a signal to its input, by its wires.

use drysheath_office::kinds::Role;
use drysheath_office::{Joint, Terminal, TerminalId, Wiring};

/// Terminals on one path beyond which nothing is computed.
const MOST_TERMINALS: u32 = 100;

/// The path of one signal to one input, which does not fork.
#[derive(Clone, Copy, Debug)]
pub struct SignalPath {
    from: TerminalId,
    /// The signal, where the path begins.
    pub signal: Terminal,
    /// The input, where the path ends.
    pub input: Terminal,
}

/// The groups of terminals that are one signal, one input and pairs in a row between them, in the order of the file.
pub fn signal_paths(wire: &Wiring) -> impl Iterator<Item = SignalPath> {
    wire.groups().filter_map(|group| {
        let (mut signal, mut input) = (None, None);
        for (count, id) in (0..).zip(group) {
            let terminal = *wire.terminal(id);
            let (slot, sides) = match terminal.port.role {
                Role::Signal(_) => (Some(&mut signal), 1),
                role if role.is_input() => (Some(&mut input), 1),
                _ => (None, 2),
            };
            let is_taken = slot.is_some_and(|slot| slot.replace((id, terminal)).is_some());
            if is_taken || wire.joints_at(id).len() != sides || count >= MOST_TERMINALS {
                return None;
            }
        }
        let ((from, signal), (_, input)) = (signal?, input?);
        Some(SignalPath { from, signal, input })
    })
}

impl SignalPath {
    /// The wires from the signal to the input, each with the terminal that it leads to.
    pub fn steps(self, wire: &Wiring) -> impl Iterator<Item = (&Joint, &Terminal)> {
        let (mut at, mut came_by) = (self.from, None::<&Joint>);
        std::iter::from_fn(move || {
            let is_new = |joint: &&Joint| came_by.is_none_or(|came_by| !std::ptr::eq(*joint, came_by));
            let joint = wire.joints_at(at).find(is_new)?;
            at = if joint.from == at { joint.to } else { joint.from };
            came_by = Some(joint);
            Some((joint, wire.terminal(at)))
        })
    }
}
