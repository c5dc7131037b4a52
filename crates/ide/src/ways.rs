//! What a pair, a signal or an input is joined with, from one end to the other.

use drysheath_office::kinds::{Numbering, Role, SignalSource};
use drysheath_office::{Fields, Joint, Office, Terminal, TerminalId, Wiring};

/// More terminals than these are not gone along.
const MOST: usize = 60;

/// What is joined.
pub(crate) struct Way {
    /// From the signal, if there is one, or else from whatever end comes first, to the other end. Where it forks, in the
    /// order of the file.
    pub terminals: Vec<TerminalId>,
    /// Whether it is one row without forks.
    pub is_row: bool,
}

impl Way {
    /// What a terminal is joined with, itself included.
    pub fn through(wire: &Wiring, id: TerminalId) -> Self {
        let all: Vec<TerminalId> = wire.joined_with(id).take(MOST).collect();
        let is_end = |id: &&TerminalId| wire.joints_at(**id).len() == 1;
        let is_signal = |id: &&TerminalId| matches!(role(wire, **id), Some(Role::Signal(_)));
        let ends = || all.iter().filter(is_end);
        let row = ends()
            .find(is_signal)
            .or_else(|| ends().next())
            .and_then(|start| walk(wire, *start))
            .filter(|row| row.len() == all.len());
        match row {
            Some(terminals) => Self {
                terminals,
                is_row: true,
            },
            None => Self {
                terminals: all,
                is_row: false,
            },
        }
    }

    /// The names of all it joins.
    pub fn spoken(&self, office: &Office, wire: &Wiring) -> String {
        let names: Vec<String> = self
            .terminals
            .iter()
            .filter_map(|id| wire.terminal(*id))
            .map(|terminal| format!("`{}`", terminal_name(office, terminal)))
            .collect();
        names.join(if self.is_row { " → " } else { ", " })
    }

    /// Those of its terminals that are signals.
    pub fn signals<'w>(&'w self, wire: &'w Wiring) -> impl Iterator<Item = (TerminalId, &'w Terminal)> {
        let terminals = self.terminals.iter();
        terminals.filter_map(|id| {
            let terminal = wire.terminal(*id)?;
            matches!(terminal.port.role, Role::Signal(_)).then_some((*id, terminal))
        })
    }

    /// Whether it leads from a device to an input.
    pub fn is_whole(&self, wire: &Wiring) -> bool {
        let has = |wanted: fn(Role) -> bool| self.terminals.iter().any(|id| role(wire, *id).is_some_and(wanted));
        has(|role| matches!(role, Role::Signal(_))) && has(Role::is_input)
    }
}

fn role(wire: &Wiring, id: TerminalId) -> Option<Role> {
    wire.terminal(id).map(|terminal| terminal.port.role)
}

/// The terminals in a row from one end. None where it forks or comes round again.
fn walk(wire: &Wiring, start: TerminalId) -> Option<Vec<TerminalId>> {
    let mut row = vec![start];
    let mut at = start;
    let mut came_by: Option<&Joint> = None;
    while row.len() <= MOST {
        let is_new = |joint: &&Joint| came_by.is_none_or(|came_by| !std::ptr::eq(*joint, came_by));
        let mut next = wire.joints_at(at).filter(is_new);
        let Some(joint) = next.next() else { return Some(row) };
        if next.next().is_some() {
            return None;
        }
        at = if joint.from == at { joint.to } else { joint.from };
        row.push(at);
        came_by = Some(joint);
    }
    None
}

/// How a terminal is written: `ps1`, `f1 pressure`, `d1 contact humidity`, `tb pair 3`.
pub(crate) fn terminal_name(office: &Office, terminal: &Terminal) -> String {
    let name = office.name(terminal.thing);
    let word = terminal.port.word;
    match (terminal.port.numbering, terminal.port.role) {
        (Numbering::Named(key), _) => {
            let at = (terminal.number as usize).checked_sub(1);
            let thing = office.thing(terminal.thing);
            let inner = at.and_then(|at| thing.named(key).nth(at)).map_or("", |(name, ..)| name);
            format!("{name} {word} {inner}")
        }
        (Numbering::None, Role::Signal(signal)) if signal.source == SignalSource::Own => {
            if office.signals(terminal.thing).len() > 1 {
                format!("{name} {word}")
            } else {
                name.to_owned()
            }
        }
        (Numbering::None, _) => format!("{name} {word}"),
        _ => format!("{name} {word} {}", terminal.number),
    }
}
