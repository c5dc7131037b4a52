//! The path of a signal to its input along its wires.

use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Fields, Networks, Office, Terminal, TerminalId, WireConnection, Wiring};
use drysheath_syntax::PairState;
use rustc_hash::FxHashMap;

/// Limit of terminals on one path; beyond it nothing is computed.
const MOST_TERMINALS: u32 = 100;
/// The same limit for a shared pair: addresses go up to 255, and there are pairs between.
const MOST_SHARED: u32 = 400;

/// The path of one signal to one input. It forks only where addressed sensors share a pair, or where a pair is tapped.
#[derive(Clone, Copy, Debug)]
pub struct SignalPath {
    from: TerminalId,
    to: TerminalId,
    /// The signal, where the path begins.
    pub signal: Terminal,
    /// The input, where the path ends.
    pub input: Terminal,
    /// Whether several addressed sensors share the pair to the input.
    pub is_shared: bool,
    /// Whether other wires branch off it.
    forks: bool,
}

/// The paths of signals that have an input of their own, or share one with other addressed devices, in the order of the
/// file. Over routes they lead to inputs in other offices, or come from devices there: their terminals are those of
/// [`Networks::merged`].
pub fn signal_paths(office: &Office, networks: &Networks) -> impl Iterator<Item = SignalPath> + use<> {
    let all = networks.merged(office);
    let wire = &all.networks.wire;
    let has_addresses = all.office.has_addresses();
    let has_taps = all.office.wired.iter().any(|wired| wired.state == PairState::Tapped);
    let mut paths = Vec::new();
    for group in wire.groups() {
        if let Some(path) = alone(wire, group.clone()) {
            if path.input.port.role.is_input() && path.signal.port.role != Role::Output {
                paths.push(path);
            }
        } else if let Some(path) = has_taps.then(|| tapped(all.office, wire, group.clone())).flatten() {
            paths.push(path);
        } else if has_addresses {
            paths.extend(shared(all.office, wire, group).into_iter().flatten());
        }
    }
    paths.retain(|path| path.is_of(office));
    paths.into_iter()
}

/// The paths of outputs that have a control of their own, in the order of the file. `signal` is the output and `input`
/// the control.
pub fn control_paths(office: &Office, networks: &Networks) -> Vec<SignalPath> {
    let wire = &networks.merged(office).networks.wire;
    // Hardly any office has controls.
    if !wire
        .terminals()
        .any(|(_, terminal)| terminal.port.role == Role::Control)
    {
        return Vec::new();
    }
    let paths = wire.groups().filter_map(|group| alone(wire, group));
    let is_control = |path: &SignalPath| (path.signal.port.role, path.input.port.role) == (Role::Output, Role::Control);
    paths.filter(|path| is_control(path) && path.is_of(office)).collect()
}

/// The path in a group of terminals that is a single line: one beginning, one end and pairs in series between them.
fn alone(wire: &Wiring, group: impl Iterator<Item = TerminalId>) -> Option<SignalPath> {
    let (mut signal, mut input) = (None, None);
    for (count, id) in (0..).zip(group) {
        let terminal = *wire.terminal(id);
        let (slot, sides) = match terminal.port.role {
            role if role.begins_circuit() => (Some(&mut signal), 1),
            role if role.ends_circuit() => (Some(&mut input), 1),
            _ => (None, 2),
        };
        let is_taken = slot.is_some_and(|slot| slot.replace((id, terminal)).is_some());
        if is_taken || wire.connections_at(id).len() != sides || count >= MOST_TERMINALS {
            return None;
        }
    }
    let ((from, signal), (to, input)) = (signal?, input?);
    Some(SignalPath {
        from,
        to,
        signal,
        input,
        is_shared: false,
        forks: false,
    })
}

/// The path in a group of terminals that is a tree of wires with one signal and one input, forking only at tapped
/// pairs. The branches carry no current and add nothing to the loop.
fn tapped(office: &Office, wire: &Wiring, group: impl Iterator<Item = TerminalId>) -> Option<SignalPath> {
    let (mut signal, mut input) = (None, None);
    let (mut count, mut ends) = (0, 0);
    for id in group {
        let terminal = *wire.terminal(id);
        let wires = wire.connections_at(id).len();
        count += 1;
        ends += wires;
        let slot = match terminal.port.role {
            Role::Signal(_) if wires == 1 => &mut signal,
            role if role.is_input() && wires == 1 => &mut input,
            Role::Pair if wires <= 2 || office.wired_at(PairState::Tapped, &terminal).is_some() => continue,
            _ => return None,
        };
        if slot.replace((id, terminal)).is_some() || count > MOST_TERMINALS {
            return None;
        }
    }
    let ((from, signal), (to, input)) = (signal?, input?);
    // A tree has one wire fewer than terminals.
    (ends == 2 * (count as usize - 1)).then_some(SignalPath {
        from,
        to,
        signal,
        input,
        is_shared: false,
        forks: true,
    })
}

/// The paths in a group of terminals that is a tree of wires with one sensor input and several signals, all of
/// addressed devices.
fn shared(office: &Office, wire: &Wiring, group: impl Iterator<Item = TerminalId>) -> Option<Vec<SignalPath>> {
    let (mut signals, mut input) = (Vec::new(), None);
    let (mut count, mut ends) = (0, 0);
    for id in group {
        let terminal = *wire.terminal(id);
        count += 1;
        ends += wire.connections_at(id).len();
        if count > MOST_SHARED {
            return None;
        }
        match terminal.port.role {
            Role::Signal(_) if office.thing(terminal.thing).has(Key::Address) && wire.connections_at(id).len() == 1 => {
                signals.push((id, terminal));
            }
            Role::SensorInput if input.is_none() => input = Some((id, terminal)),
            Role::Pair => {}
            _ => return None,
        }
    }
    let (to, input) = input?;
    // A tree has one wire fewer than terminals.
    let is_tree = ends == 2 * (count as usize - 1);
    (is_tree && signals.len() > 1).then(|| {
        let path = |(from, signal)| SignalPath {
            from,
            to,
            signal,
            input,
            is_shared: true,
            forks: true,
        };
        signals.into_iter().map(path).collect()
    })
}

impl SignalPath {
    /// Whether the device or the monitor belongs to an office.
    fn is_of(&self, office: &Office) -> bool {
        office.has(self.signal.thing) || office.has(self.input.thing)
    }

    /// The wires from the signal to the input, each with the terminal that it leads to.
    pub fn steps(self, wire: &Wiring) -> impl Iterator<Item = (&WireConnection, &Terminal)> {
        let (mut at, mut came_by) = (self.from, None::<&WireConnection>);
        let ways = self.forks.then(|| wires_towards(wire, self.to));
        std::iter::from_fn(move || {
            let is_new = |joint: &&WireConnection| came_by.is_none_or(|came_by| !std::ptr::eq(*joint, came_by));
            let joint = match &ways {
                Some(ways) => ways.get(&at).copied()?,
                None => wire.connections_at(at).find(is_new)?,
            };
            at = if joint.from == at { joint.to } else { joint.from };
            came_by = Some(joint);
            Some((joint, wire.terminal(at)))
        })
    }
}

/// For each terminal of a tree of wires, the wire that leads from it towards `to`.
fn wires_towards(wire: &Wiring, to: TerminalId) -> FxHashMap<TerminalId, &WireConnection> {
    let mut ways = FxHashMap::default();
    let mut open = vec![to];
    while let Some(at) = open.pop() {
        for joint in wire.connections_at(at) {
            let other = if joint.from == at { joint.to } else { joint.from };
            if other != to && !ways.contains_key(&other) {
                ways.insert(other, joint);
                open.push(other);
            }
        }
    }
    ways
}
