use drysheath_office::kinds::{HealthyState, Key, KindId, Numbering, Role};
use drysheath_office::{Fields, Office, Terminal, TerminalId, Wiring, printed};
use drysheath_syntax::Medium;
use drysheath_text::TextRange;
use rustc_hash::FxHashMap;

use super::elsewhere::{Elsewhere, WiredElsewhere};
use crate::lint::Inspection;
use crate::precedence::Subject;

/// A circuit: terminals that wires join. In a correct office it connects one signal of a device with one input, or one output of a
/// monitor with one control. Outputs count as signals here, since circuits begin there, and controls as inputs.
#[derive(Clone, Copy, Default)]
pub(crate) struct Circuit {
    /// Number of its signals.
    pub signals: u32,
    /// Number of its inputs.
    pub inputs: u32,
    /// The last of its signals.
    pub signal: Option<TerminalId>,
    /// The last of its inputs.
    pub input: Option<TerminalId>,
    /// The last of its pairs on a block or in a lead.
    pub block: Option<TerminalId>,
    /// The last of its pairs in a cable.
    pub cable: Option<TerminalId>,
    /// What another office wires to the same pairs of a route.
    pub elsewhere: Option<Elsewhere>,
}

/// The circuits of an office.
pub(super) fn circuits<'i>(inspection: &'i Inspection<'_>) -> impl Iterator<Item = Circuit> + 'i {
    let wire = &inspection.networks.wire;
    let wired = || WiredElsewhere::of(inspection.office);
    let all = || {
        let wired = wired();
        let circuit = move |group| Circuit::new(inspection.office, wire, group, &wired);
        wire.groups().map(circuit)
    };
    inspection.circuits.get_or_init(|| all().collect()).iter().copied()
}

/// Number of signals whose wire goes on to an input in another office.
pub(crate) fn signals_read_elsewhere(inspection: &Inspection<'_>) -> usize {
    let leaves = |circuit: &Circuit| circuit.signals > 0 && circuit.inputs == 0 && circuit.has_input_elsewhere();
    circuits(inspection).filter(leaves).count()
}

impl Circuit {
    fn new(office: &Office, wire: &Wiring, group: impl Iterator<Item = TerminalId>, wired: &WiredElsewhere) -> Self {
        let mut circuit = Self::default();
        for id in group {
            let terminal = wire.terminal(id);
            circuit.elsewhere = circuit.elsewhere.or_else(|| wired.at(office, terminal));
            match terminal.port.role {
                role if role.begins_circuit() => {
                    circuit.signals += 1;
                    circuit.signal = Some(id);
                }
                role if role.ends_circuit() => {
                    circuit.inputs += 1;
                    circuit.input = Some(id);
                }
                // A lead ends within the office, as a block does.
                _ if !office.thing(terminal.thing).is(KindId::Cable) => {
                    circuit.block = Some(id);
                }
                _ => circuit.cable = Some(id),
            }
        }
        circuit
    }

    /// Whether another office goes on with it to an input.
    pub fn has_input_elsewhere(&self) -> bool {
        self.elsewhere.is_some_and(|elsewhere| elsewhere.inputs > 0)
    }

    /// Whether a signal of another office comes in by it.
    pub fn has_signal_elsewhere(&self) -> bool {
        self.elsewhere.is_some_and(|elsewhere| elsewhere.signals > 0)
    }

    /// A terminal of the circuit.
    pub fn any(&self) -> Option<TerminalId> {
        self.signal.or(self.input).or(self.block).or(self.cable)
    }

    /// The circuit, which several rules may report.
    pub fn subject(&self, wire: &Wiring) -> Option<Subject> {
        self.any().map(|any| circuit(wire, any))
    }

    /// Whether it only waits for a device: an input or output of a monitor that its maker wired to a connector.
    pub fn waits_for_device(&self, inspection: &Inspection<'_>) -> bool {
        let end = match (self.signal, self.input) {
            (Some(one), None) | (None, Some(one)) => inspection.networks.wire.terminal(one),
            _ => return false,
        };
        inspection.allocation().is_idle(end.thing, end.port, end.number)
    }

    /// Whether one of its terminals has more wires than sides.
    pub fn forks(&self, wire: &Wiring) -> bool {
        self.any()
            .is_some_and(|any| wire.joined_with(any).any(|id| is_crowded(wire, id)))
    }

    /// Its only signal: if that has several wires, they explain any other double assignment in the circuit.
    pub fn only_signal(&self) -> Option<Subject> {
        self.signal.filter(|_| self.signals == 1).map(Subject::Terminal)
    }

    /// Its signals.
    pub fn signals_of<'w>(&self, wire: &'w Wiring) -> impl Iterator<Item = TerminalId> + 'w {
        let all = self.any().into_iter().flat_map(move |any| wire.joined_with(any));
        all.filter(move |id| wire.terminal(*id).port.role.begins_circuit())
    }

    /// Its signals and inputs.
    pub fn ends<'w>(&self, wire: &'w Wiring) -> impl Iterator<Item = TerminalId> + 'w {
        let all = self.any().into_iter().flat_map(move |any| wire.joined_with(any));
        all.filter(move |id| wire.terminal(*id).port.role != Role::Pair)
    }

    /// Whether its signals share a pair on purpose: contacts that are one alarm, or sensors that are told apart by addresses. Where
    /// wires could not be read, their input may be lost.
    pub fn shares_a_pair(&self, office: &Office, wire: &Wiring) -> bool {
        match self.inputs {
            0 if self.signals > 1 && office.unsure.about(Medium::Wire) => {
                self.all_have_addresses(office, wire) || self.are_contacts_alike(office, wire)
            }
            _ => self.is_common_alarm(office, wire) || self.is_addressed(office, wire),
        }
    }

    /// Whether several sensors come to one sensor input, and all of them have addresses.
    pub fn is_addressed(&self, office: &Office, wire: &Wiring) -> bool {
        self.shares_input(wire, Role::SensorInput) && self.all_have_addresses(office, wire)
    }

    /// Whether several contacts come to one contact input and can be one alarm: closed while all is well, in series, or open
    /// and bridged. Those of one device are that whatever they say; those of several have to say the same.
    pub fn is_common_alarm(&self, office: &Office, wire: &Wiring) -> bool {
        self.shares_input(wire, Role::ContactInput) && self.are_contacts_alike(office, wire)
    }

    /// Whether several signals come to one input, of this role.
    fn shares_input(&self, wire: &Wiring, role: Role) -> bool {
        let input = self.input.filter(|_| self.signals > 1 && self.inputs == 1);
        input.is_some_and(|input| wire.terminal(input).port.role == role)
    }

    /// Whether all its devices have addresses. A damaged one may have had one.
    fn all_have_addresses(&self, office: &Office, wire: &Wiring) -> bool {
        self.signals_of(wire).all(|id| {
            let device = office.thing(wire.terminal(id).thing);
            device.has(Key::Address) || device.damaged
        })
    }

    /// Whether its signals are contacts of one device, or all of one state while all is well.
    fn are_contacts_alike(&self, office: &Office, wire: &Wiring) -> bool {
        let is_contact = |id| matches!(wire.terminal(id).port.role, Role::Signal(kind) if kind.dimension.is_none());
        let Some(device) = self.signal.map(|signal| wire.terminal(signal).thing) else {
            return false;
        };
        self.signals_of(wire).all(is_contact)
            && (self.signals_of(wire).all(|id| wire.terminal(id).thing == device)
                || self.healthy_state(office, wire).is_some())
    }

    /// The state that all its contacts have while all is well.
    pub fn healthy_state(&self, office: &Office, wire: &Wiring) -> Option<HealthyState> {
        let mut states = self.signals_of(wire).map(|id| {
            let terminal = wire.terminal(id);
            let mut signals = office.signals(terminal.thing).into_iter();
            let own = signals.find(|own| std::ptr::eq(own.port, terminal.port) && own.number == terminal.number)?;
            own.fields.choice::<HealthyState>(Key::Healthy)
        });
        let first = states.next()??;
        states.all(|state| state == Some(first)).then_some(first)
    }

    /// Where it ends as seen from its signal: the terminal, and the place where a run names it.
    pub fn far_end(&self, wire: &Wiring) -> Option<(TerminalId, TextRange)> {
        let mut ends = wire.joined_with(self.any()?);
        let end = ends.find(|id| Some(*id) != self.signal && wire.joints_at(*id).len() == 1)?;
        Some((end, place_of(wire, end)))
    }
}

/// The circuit of a terminal, which several rules may report.
pub(super) fn circuit(wire: &Wiring, id: TerminalId) -> Subject {
    Subject::Circuit(wire.joined_with(id).next().unwrap_or(id))
}

/// The circuits by their terminals. Each circuit is traced once, however many of its terminals are looked up.
pub(super) struct CircuitOf<'i, 'o> {
    inspection: &'i Inspection<'o>,
    known: FxHashMap<TerminalId, Circuit>,
}

impl<'i, 'o> CircuitOf<'i, 'o> {
    pub fn new(inspection: &'i Inspection<'o>) -> Self {
        Self {
            inspection,
            known: FxHashMap::default(),
        }
    }

    /// The circuit of a terminal.
    pub fn find(&mut self, id: TerminalId) -> Circuit {
        let wire = &self.inspection.networks.wire;
        let first = wire.joined_with(id).next().unwrap_or(id);
        // What is asked of these circuits is asked of the office's own wires.
        let wired = WiredElsewhere::default();
        let whole = || Circuit::new(self.inspection.office, wire, wire.joined_with(id), &wired);
        *self.known.entry(first).or_insert_with(whole)
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
    if let Numbering::Named(key) = terminal.port.numbering {
        let at = (number as usize).checked_sub(1);
        let named = at.and_then(|at| office.thing(terminal.thing).named(key).nth(at));
        let name = named.map_or("", |(name, ..)| name);
        return format!("{noun} `{name}` of `{}`", office.name(terminal.thing));
    }
    format!("{noun} {} of `{}`", printed(number), office.name(terminal.thing))
}
