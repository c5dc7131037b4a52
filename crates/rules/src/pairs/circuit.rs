use std::cell::LazyCell;
use std::collections::HashMap;

use drysheath_office::kinds::{KindId, Role};
use drysheath_office::{Office, Terminal, TerminalId, Wiring};
use drysheath_syntax::Medium;
use drysheath_text::TextRange;

use crate::lint::Inspection;

/// A circuit: terminals that wires join. In a correct office it connects one signal of a device with one input.
#[derive(Clone, Copy, Default)]
pub(super) struct Circuit {
    /// Number of its signals.
    pub signals: u32,
    /// Number of its inputs.
    pub inputs: u32,
    /// The last of its signals.
    pub signal: Option<TerminalId>,
    /// The last of its inputs.
    pub input: Option<TerminalId>,
    /// The last of its pairs on a block.
    pub block: Option<TerminalId>,
    /// The last of its pairs in a cable.
    pub cable: Option<TerminalId>,
}

/// The circuits of an office.
pub(super) fn circuits<'i>(inspection: &'i Inspection<'_>) -> impl Iterator<Item = Circuit> + 'i {
    let wire = &inspection.networks.wire;
    wire.groups().map(|group| Circuit::new(inspection.office, wire, group))
}

impl Circuit {
    fn new(office: &Office, wire: &Wiring, group: impl Iterator<Item = TerminalId>) -> Self {
        let mut circuit = Self::default();
        for id in group {
            let terminal = wire.terminal(id);
            match terminal.port.role {
                Role::Signal(_) => {
                    circuit.signals += 1;
                    circuit.signal = Some(id);
                }
                role if role.is_input() => {
                    circuit.inputs += 1;
                    circuit.input = Some(id);
                }
                _ if office.thing(terminal.thing).is(KindId::Block) => {
                    circuit.block = Some(id);
                }
                _ => circuit.cable = Some(id),
            }
        }
        circuit
    }

    /// A terminal of the circuit.
    pub fn any(&self) -> Option<TerminalId> {
        self.signal.or(self.input).or(self.block).or(self.cable)
    }

    /// Whether it has more than one signal and one input, or branches. Other rules report that, and whatever else is wrong
    /// with the circuit follows from it.
    pub fn is_tangled(&self, wire: &Wiring) -> bool {
        self.signals > 1 || self.inputs > 1 || self.forks(wire)
    }

    /// Whether one of its terminals has more wires than sides.
    pub fn forks(&self, wire: &Wiring) -> bool {
        self.any()
            .is_some_and(|any| wire.joined_with(any).any(|id| is_crowded(wire, id)))
    }

    /// Whether its only signal has several wires, which explains any other double assignment in it.
    pub fn is_one_signal_wired_twice(&self, wire: &Wiring) -> bool {
        self.signals == 1 && self.signal.is_some_and(|signal| wire.joints_at(signal).len() > 1)
    }

    /// Where it ends as seen from its signal: the terminal, and the place where a run names it.
    pub fn far_end(&self, wire: &Wiring) -> Option<(TerminalId, TextRange)> {
        let mut ends = wire.joined_with(self.any()?);
        let end = ends.find(|id| Some(*id) != self.signal && wire.joints_at(*id).len() == 1)?;
        Some((end, place_of(wire, end)))
    }
}

/// The circuits by their terminals. Each circuit is traced once, however many of its terminals are looked up.
pub(super) struct CircuitOf<'i, 'o> {
    inspection: &'i Inspection<'o>,
    known: HashMap<TerminalId, (Circuit, bool)>,
}

impl<'i, 'o> CircuitOf<'i, 'o> {
    pub fn new(inspection: &'i Inspection<'o>) -> Self {
        Self {
            inspection,
            known: HashMap::new(),
        }
    }

    /// The circuit of a terminal, and whether it is tangled.
    pub fn find(&mut self, id: TerminalId) -> (Circuit, bool) {
        let wire = &self.inspection.networks.wire;
        let first = wire.joined_with(id).next().unwrap_or(id);
        *self.known.entry(first).or_insert_with(|| {
            let circuit = Circuit::new(self.inspection.office, wire, wire.joined_with(id));
            (circuit, circuit.is_tangled(wire))
        })
    }
}

/// Whether a terminal has more wires than sides. For a pair, wires to the same terminal count once.
pub(super) fn is_crowded(wire: &Wiring, id: TerminalId) -> bool {
    let terminal = wire.terminal(id);
    if !terminal.port.role.goes_through() {
        return wire.joints_at(id).len() > 1;
    }
    if wire.joints_at(id).len() <= 2 {
        return false;
    }
    let mut others = wire
        .joints_at(id)
        .map(|joint| if joint.from == id { joint.to } else { joint.from });
    let one = others.next();
    let two = others.find(|other| Some(*other) != one);
    others.any(|other| Some(other) != one && Some(other) != two)
}

/// Where a run first names a terminal.
pub(crate) fn place_of(wire: &Wiring, id: TerminalId) -> TextRange {
    wire.joints_at(id)
        .next()
        .map_or(TextRange::default(), |joint| joint.range_at(id))
}

/// A signal or input as a run writes it: `f1 flow`, `m1 sensor 3`.
pub(super) fn written<'o>(inspection: &Inspection<'o>, id: TerminalId) -> &'o str {
    place_of(&inspection.networks.wire, id).of(&inspection.office.text)
}

/// A terminal as messages name it: ``pair 3 of `tb` ``, ``sensor input 2 of `m1` ``.
pub(crate) fn called(office: &Office, terminal: &Terminal) -> String {
    let (noun, number) = (terminal.port.noun(), terminal.number);
    format!("{noun} {number} of `{}`", office.name(terminal.thing))
}

/// Whether all ranges that wires join have the same length. Otherwise some pairs are unconnected for that reason alone.
/// Computed on first use.
pub(super) fn ranges_agree(office: &Office) -> LazyCell<bool, impl FnOnce() -> bool + use<'_>> {
    LazyCell::new(|| {
        let mut wires = office
            .runs
            .iter()
            .filter(|run| run.medium == Medium::Wire && !run.damaged);
        wires.all(|run| {
            let width = |end: &drysheath_office::End| end.numbers.1 - end.numbers.0;
            run.ends
                .windows(2)
                .all(|ends| matches!(ends, [one, other] if width(one) == width(other)))
        })
    })
}
