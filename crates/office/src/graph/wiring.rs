use std::ops::Range;

use drysheath_engineering::index::IndexVec;
use drysheath_engineering::index_type;
use drysheath_syntax::Medium;
use drysheath_text::TextRange;
use rustc_hash::FxHashMap;

use super::disjoint_sets::DisjointSets;
use crate::kinds::{Port, Role};
use crate::lower::bare_port;
use crate::model::{End, Office, RunId, ThingId};

index_type! {
    /// Index of a terminal among all that wires end on.
    pub struct TerminalId;
    /// Index of a wire between two terminals.
    struct WireConnectionId;
}

/// A point where a wire can end: a signal, a pair of a block or cable, an input.
#[derive(Clone, Copy, Debug)]
pub struct Terminal {
    /// The thing that has the terminal.
    pub thing: ThingId,
    /// The port that the terminal is one of.
    pub port: &'static Port,
    /// Number of the pair, input or named field; 0 for a signal without.
    pub number: u32,
}

impl PartialEq for Terminal {
    fn eq(&self, other: &Self) -> bool {
        // Ports are entries of one static table, so compare addresses.
        self.thing == other.thing && self.number == other.number && std::ptr::eq(self.port, other.port)
    }
}

impl Eq for Terminal {}

/// A wire between two terminals.
#[derive(Clone, Copy, Debug)]
pub struct WireConnection {
    /// The terminal that the arrow leaves.
    pub from: TerminalId,
    /// The terminal that the arrow points to.
    pub to: TerminalId,
    /// Place of `from` in the run.
    pub from_range: TextRange,
    /// Place of `to` in the run.
    pub to_range: TextRange,
    /// The number of the run.
    pub run: RunId,
}

/// The wires of an office.
#[derive(Debug, Default)]
pub struct Wiring {
    terminals: IndexVec<TerminalId, Terminal>,
    connections: IndexVec<WireConnectionId, WireConnection>,
    /// The joints at each terminal, sorted by terminal.
    connection_ends: Vec<(TerminalId, WireConnectionId)>,
    /// For each terminal the range of its joints in `connection_ends`.
    ranges: IndexVec<TerminalId, Range<usize>>,
    /// For each terminal, the first terminal of its group.
    first: IndexVec<TerminalId, TerminalId>,
    /// Pairs of first terminal and terminal, sorted: the groups.
    groups: Vec<(TerminalId, TerminalId)>,
    ids: FxHashMap<(ThingId, usize, u32), TerminalId>,
}

/// More pairs than any cable has: a larger range is a mistake that another rule reports.
const MOST_IN_RANGE: u32 = 10_000;
/// More wires than any office has: a file that asks for more must not take the machine down.
const MOST_CONNECTIONS: usize = 1 << 20;

impl Wiring {
    pub(crate) fn new(office: &Office) -> Self {
        let mut wiring = Self::default();
        // Most wires lead from a device over a block to an input.
        wiring.ids.reserve(2 * office.runs.len());
        for (id, run) in office.runs.enumerated() {
            if run.medium != Medium::Wire || run.damaged {
                continue;
            }
            for pair in run.ends.windows(2) {
                let [from, to] = pair else { continue };
                let is_connector = |end: &End| end.port.is_some_and(|port| port.role == Role::Connector);
                if is_connector(from) && is_connector(to) {
                    wiring.mate(office, id, from, to);
                } else {
                    wiring.join(office, id, from, to);
                }
            }
        }
        wiring.index();
        wiring
    }

    /// Joins the pairs of two connectors one to one.
    fn mate(&mut self, office: &Office, run: RunId, from: &End, to: &End) {
        let pair_port = |end: &End| {
            let mut ports = office.thing(end.thing?).kind?.ports.iter();
            Some((end.thing?, ports.find(|port| port.role == Role::Pair)?))
        };
        let Some(((near, near_port), (far, far_port))) = pair_port(from).zip(pair_port(to)) else {
            return;
        };
        let (near_pairs, far_pairs) = (connector_pairs(office, from), connector_pairs(office, to));
        // A connector with an unknown number of pairs gets as many as the other one.
        let as_many = |end: &End, others: usize| {
            let first = end.numbers.0.saturating_sub(1).saturating_mul(CONNECTOR as u32) + 1;
            (first..).take(others).collect()
        };
        let (near_pairs, far_pairs): (Vec<u32>, Vec<u32>) = match (near_pairs, far_pairs) {
            (Some(near), Some(far)) => (near, far),
            (Some(near), None) => {
                let far = as_many(to, near.len());
                (near, far)
            }
            (None, Some(far)) => (as_many(from, far.len()), far),
            (None, None) => return,
        };
        for (one, other) in near_pairs.into_iter().zip(far_pairs) {
            if self.connections.len() > MOST_CONNECTIONS {
                return;
            }
            let terminal = |thing, port, number| Terminal { thing, port, number };
            let (near, far) = (terminal(near, near_port, one), terminal(far, far_port, other));
            self.connection(run, (near, from), (far, to));
        }
    }

    /// Joins two terminals that a run names at `from` and `to`.
    fn connection(&mut self, run: RunId, (near, from): (Terminal, &End), (far, to): (Terminal, &End)) {
        let connection = WireConnection {
            from: self.id(near),
            to: self.id(far),
            from_range: from.range,
            to_range: to.range,
            run,
        };
        self.connections.push(connection);
    }

    fn join(&mut self, office: &Office, run: RunId, from: &End, to: &End) {
        let Some((near, far)) = terminal(office, from, false).zip(terminal(office, to, true)) else {
            return;
        };
        if self.connections.len() > MOST_CONNECTIONS {
            return;
        }
        let width = (from.numbers.1 - from.numbers.0)
            .min(to.numbers.1 - to.numbers.0)
            .min(MOST_IN_RANGE);
        for step in 0..=width {
            let further = |terminal: Terminal| Terminal {
                number: terminal.number + step,
                ..terminal
            };
            self.connection(run, (further(near), from), (further(far), to));
        }
    }

    fn id(&mut self, terminal: Terminal) -> TerminalId {
        let key = (terminal.thing, address(terminal.port), terminal.number);
        *self.ids.entry(key).or_insert_with(|| self.terminals.push(terminal))
    }

    fn index(&mut self) {
        let connections = self.connections.enumerated();
        self.connection_ends = connections
            .flat_map(|(id, connection)| [(connection.from, id), (connection.to, id)])
            .collect();
        self.connection_ends.sort_unstable();
        // Every terminal has a joint, so the ranges cover all terminals.
        let mut end = 0;
        let of_one_terminal = self.connection_ends.chunk_by(|one, other| one.0 == other.0);
        self.ranges = of_one_terminal
            .map(|ends| {
                let start = end;
                end += ends.len();
                start..end
            })
            .collect();
        let mut sets = DisjointSets::new(self.terminals.len());
        for connection in &self.connections {
            sets.join(connection.from, connection.to);
        }
        self.first = self.terminals.keys().map(|id| sets.first(id)).collect();
        self.groups = self.first.enumerated().map(|(id, first)| (*first, id)).collect();
        self.groups.sort_unstable();
    }

    /// All terminals with a wire, in the order of the file.
    pub fn terminals(&self) -> impl Iterator<Item = (TerminalId, &Terminal)> {
        self.terminals.enumerated()
    }

    /// The terminal of that number.
    pub fn terminal(&self, id: TerminalId) -> &Terminal {
        &self.terminals[id]
    }

    /// The terminal at a port of a thing. `None` if no wire ends there.
    pub fn find(&self, thing: ThingId, port: &'static Port, number: u32) -> Option<TerminalId> {
        self.ids.get(&(thing, address(port), number)).copied()
    }

    /// The wires at a terminal, in the order of the file.
    pub fn connections_at(&self, id: TerminalId) -> impl ExactSizeIterator<Item = &WireConnection> {
        let found = self.connection_ends.get(self.ranges[id].clone()).unwrap_or_default();
        found.iter().map(|(_, connection)| &self.connections[*connection])
    }

    /// The groups of joined terminals, each in the order of the file.
    pub fn groups(&self) -> impl Iterator<Item = impl Iterator<Item = TerminalId> + Clone> {
        self.groups
            .chunk_by(|one, other| one.0 == other.0)
            .map(|group| group.iter().map(|(_, id)| *id))
    }

    /// The terminals joined with `id`, itself included.
    pub fn joined_with(&self, id: TerminalId) -> impl Iterator<Item = TerminalId> {
        let first = self.first[id];
        let start = self.groups.partition_point(|(other, _)| *other < first);
        let rest = self.groups.get(start..).unwrap_or_default();
        rest.iter()
            .take_while(move |(other, _)| *other == first)
            .map(|(_, id)| *id)
    }
}

impl WireConnection {
    /// Where the run names a terminal.
    pub fn range_at(&self, id: TerminalId) -> TextRange {
        if self.from == id {
            self.from_range
        } else {
            self.to_range
        }
    }
}

/// Pairs of one connector on a block with several.
const CONNECTOR: usize = 25;

/// The pairs of a connector, or of one of several connectors of a block, in order. `None` if the range of pairs is not
/// known.
pub fn connector_pairs(office: &Office, end: &End) -> Option<Vec<u32>> {
    let thing = end.thing?;
    let mut ports = office.thing(thing).kind?.ports.iter();
    let rows = office.rows(thing, ports.find(|port| port.role == Role::Pair)?)?;
    let all = rows.iter().flat_map(|(first, last)| first..=last);
    let all = all.take(MOST_IN_RANGE as usize);
    Some(match end.numbers.0.checked_sub(1) {
        None => all.collect(),
        Some(before) => all.skip(before as usize * CONNECTOR).take(CONNECTOR).collect(),
    })
}

fn terminal(office: &Office, end: &End, as_target: bool) -> Option<Terminal> {
    let thing = end.thing?;
    let port = match end.port {
        Some(port) => port,
        None => bare_port(office.thing(thing).kind?, Medium::Wire, as_target)?,
    };
    Some(Terminal {
        thing,
        port,
        number: end.numbers.0,
    })
}

impl Role {
    /// Whether a terminal of this role joins wires on both its sides.
    pub fn goes_through(self) -> bool {
        self == Self::Pair
    }
}

/// Ports are entries of one static table: comparing addresses is faster than comparing words.
fn address(port: &'static Port) -> usize {
    std::ptr::from_ref(port).addr()
}
