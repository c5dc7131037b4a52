//! The circuit of a pair, signal or input: the terminals joined by wires, from one end to the other.

use drysheath_office::kinds::{Numbering, Role, SignalSource};
use drysheath_office::{Fields, Office, Terminal, TerminalId, WireConnection, Wiring, printed};

/// Limit of terminals in a circuit.
const MOST: usize = 60;

/// Terminals joined by wires.
pub(crate) struct Circuit {
    /// The terminals from the signal, or else from the first end, to the other end. If the circuit forks, in the order
    /// of the file.
    pub terminals: Vec<TerminalId>,
    /// Whether it is a single chain without forks.
    pub is_chain: bool,
}

impl Circuit {
    /// The circuit of a terminal.
    pub fn through(wire: &Wiring, id: TerminalId) -> Self {
        let all: Vec<TerminalId> = wire.joined_with(id).take(MOST).collect();
        let is_end = |id: &&TerminalId| wire.connections_at(**id).len() == 1;
        let is_signal = |id: &&TerminalId| role(wire, **id).begins_circuit();
        let ends = || all.iter().filter(is_end);
        let chain = ends()
            .find(is_signal)
            .or_else(|| ends().next())
            .and_then(|start| walk(wire, *start))
            .filter(|chain| chain.len() == all.len());
        match chain {
            Some(terminals) => Self {
                terminals,
                is_chain: true,
            },
            None => Self {
                terminals: all,
                is_chain: false,
            },
        }
    }

    /// Names of its terminals.
    pub fn names(&self, office: &Office, wire: &Wiring) -> String {
        let names: Vec<String> = self
            .terminals
            .iter()
            .map(|id| format!("`{}`", terminal_name(office, wire.terminal(*id))))
            .collect();
        names.join(if self.is_chain { " → " } else { ", " })
    }

    /// Terminals of the circuit that are signals of devices.
    pub fn signals<'w>(&'w self, wire: &'w Wiring) -> impl Iterator<Item = (TerminalId, &'w Terminal)> {
        let terminals = self.terminals.iter();
        terminals.filter_map(|id| {
            let terminal = wire.terminal(*id);
            matches!(terminal.port.role, Role::Signal(_)).then_some((*id, terminal))
        })
    }

    /// Whether it joins a device to an input, or an output to a control.
    pub fn is_complete(&self, wire: &Wiring) -> bool {
        let has = |wanted: fn(Role) -> bool| self.terminals.iter().any(|id| wanted(role(wire, *id)));
        has(Role::begins_circuit) && has(Role::ends_circuit)
    }
}

fn role(wire: &Wiring, id: TerminalId) -> Role {
    wire.terminal(id).port.role
}

/// The terminals of a chain from one end. `None` if the circuit forks or forms a ring.
fn walk(wire: &Wiring, start: TerminalId) -> Option<Vec<TerminalId>> {
    let mut chain = vec![start];
    let mut at = start;
    let mut came_by: Option<&WireConnection> = None;
    while chain.len() <= MOST {
        let is_new = |joint: &&WireConnection| came_by.is_none_or(|came_by| !std::ptr::eq(*joint, came_by));
        let mut next = wire.connections_at(at).filter(is_new);
        let Some(joint) = next.next() else { return Some(chain) };
        if next.next().is_some() {
            return None;
        }
        at = if joint.from == at { joint.to } else { joint.from };
        chain.push(at);
        came_by = Some(joint);
    }
    None
}

/// Name of a terminal as written: `ps1`, `f1 pressure`, `d1 contact humidity`, `tb pair 3`.
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
        (Numbering::None | Numbering::Connectors, _) => format!("{name} {word}"),
        _ => format!("{name} {word} {}", printed(terminal.number)),
    }
}
