use drysheath_office::kinds::{HealthyState, Key, KindId, Numbering, Role};
use drysheath_office::{Fields, MergedOffice, Office, PlacedDrawing, Terminal, TerminalId, Wiring, printed};
use drysheath_syntax::Medium;
use drysheath_text::TextRange;
use rustc_hash::FxHashMap;

use super::elsewhere::{Elsewhere, elsewhere};
use crate::lint::Inspection;
use crate::precedence::Subject;

/// A circuit: a group of terminals joined by wires. In a correct office it connects one signal of a device with one
/// input, or one output of a monitor with one control. Outputs count as signals here, since circuits begin there, and
/// controls as inputs.
#[derive(Clone, Copy, Default)]
pub(crate) struct Circuit {
    /// Number of signals on the circuit.
    pub signals: u32,
    /// Number of inputs on the circuit.
    pub inputs: u32,
    /// Last of the signals.
    pub signal: Option<TerminalId>,
    /// Last of the inputs.
    pub input: Option<TerminalId>,
    /// Last of the pairs on a block or in a lead.
    pub block: Option<TerminalId>,
    /// Last of the pairs in a cable.
    pub cable: Option<TerminalId>,
    /// Wires of another office on the same pairs of a route.
    pub elsewhere: Option<Elsewhere>,
}

/// The circuits of an office.
pub(super) fn circuits<'i>(inspection: &'i Inspection<'_>) -> impl Iterator<Item = Circuit> + 'i {
    let all = || {
        let groups = inspection.networks.wire.groups();
        let has_routes = inspection.office.placed.iter().any(PlacedDrawing::is_route);
        let circuit = |group| Circuit {
            elsewhere: has_routes
                .then(|| elsewhere(inspection, Clone::clone(&group)))
                .flatten(),
            ..Circuit::new(inspection.own(), group)
        };
        groups.map(circuit).collect()
    };
    inspection.circuits.get_or_init(all).iter().copied()
}

/// Number of signals whose wire leaves over a route and whose end is not known.
pub(crate) fn signals_lost_elsewhere(inspection: &Inspection<'_>) -> usize {
    let is_lost = |circuit: &Circuit| {
        let is_read = circuit.inputs > 0 || circuit.elsewhere.is_none_or(|elsewhere| elsewhere.inputs > 0);
        circuit.signals > 0 && !is_read && circuit.has_input_elsewhere()
    };
    circuits(inspection).filter(is_lost).count()
}

impl Circuit {
    fn new(of: MergedOffice<'_>, group: impl Iterator<Item = TerminalId>) -> Self {
        let (office, wire) = (of.office, &of.networks.wire);
        let mut circuit = Self::default();
        for id in group {
            let terminal = wire.terminal(id);
            match terminal.port.role {
                role if role.begins_circuit() => {
                    circuit.signals += 1;
                    circuit.signal = Some(id);
                }
                role if role.ends_circuit() => {
                    circuit.inputs += 1;
                    circuit.input = Some(id);
                }
                // A lead ends within the office, like a block.
                _ if !office.thing(terminal.thing).is(KindId::Cable) => {
                    circuit.block = Some(id);
                }
                _ => circuit.cable = Some(id),
            }
        }
        circuit
    }

    /// The circuit including its part in other offices; ids are those of [`drysheath_office::MergedOffice`].
    pub fn whole(&self, inspection: &Inspection<'_>) -> Self {
        let all = inspection.networks.merged(inspection.office);
        match self.any() {
            Some(any) if !inspection.office.neighbours.is_empty() => Self {
                elsewhere: self.elsewhere,
                ..Self::new(all, all.networks.wire.joined_with(any))
            },
            _ => *self,
        }
    }

    /// Whether all its devices, here and in other offices, are addressed.
    pub fn are_all_addressed(&self, inspection: &Inspection<'_>) -> bool {
        let all = inspection.networks.merged(inspection.office);
        self.whole(inspection)
            .all_have_addresses(all.office, &all.networks.wire)
    }

    /// Whether another office reports it, where both offices have devices without an input, or inputs without a device:
    /// the office that has precedence, or the rule on pairs taken by two offices.
    pub fn is_reported_elsewhere(&self, inspection: &Inspection<'_>) -> bool {
        let Some(elsewhere) = self.elsewhere else { return false };
        if self.inputs > 0 && elsewhere.inputs > 0 {
            return true;
        }
        let all = inspection.networks.merged(inspection.office).office;
        let other = elsewhere.thing.and_then(|thing| all.office_of(thing));
        let speaks = other.is_none_or(|other| inspection.office.speaks_before(other));
        self.signals > 0 && elsewhere.signals > 0 && !(self.are_all_addressed(inspection) && speaks)
    }

    /// Whether another office takes it on to an input, or may.
    pub fn has_input_elsewhere(&self) -> bool {
        self.elsewhere
            .is_some_and(|elsewhere| elsewhere.inputs > 0 || elsewhere.may_be_more)
    }

    /// Whether a signal of another office arrives on it, or may.
    pub fn has_signal_elsewhere(&self) -> bool {
        self.elsewhere
            .is_some_and(|elsewhere| elsewhere.signals > 0 || elsewhere.may_be_more)
    }

    /// Any terminal of the circuit.
    pub fn any(&self) -> Option<TerminalId> {
        self.signal.or(self.input).or(self.block).or(self.cable)
    }

    /// The circuit as a subject.
    pub fn subject(&self, wire: &Wiring) -> Option<Subject> {
        self.any().map(|any| circuit(wire, any))
    }

    /// Whether it only waits for a device: an input or output that the maker of the monitor wired to a connector.
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

    /// The signal, if there is only one. If that has several wires, they explain any other double assignment in the
    /// circuit.
    pub fn only_signal(&self) -> Option<Subject> {
        self.signal.filter(|_| self.signals == 1).map(Subject::Terminal)
    }

    /// All signals on the circuit, not only the last one.
    pub fn signals_of<'w>(&self, wire: &'w Wiring) -> impl Iterator<Item = TerminalId> + 'w {
        let all = self.any().into_iter().flat_map(move |any| wire.joined_with(any));
        all.filter(move |id| wire.terminal(*id).port.role.begins_circuit())
    }

    /// All its signals and inputs.
    pub fn ends<'w>(&self, wire: &'w Wiring) -> impl Iterator<Item = TerminalId> + 'w {
        let all = self.any().into_iter().flat_map(move |any| wire.joined_with(any));
        all.filter(move |id| wire.terminal(*id).port.role != Role::Pair)
    }

    /// Whether its signals share a pair on purpose: contacts that form one alarm, or addressed sensors. Where wires
    /// could not be read, the input may be missing.
    pub fn shares_a_pair(&self, inspection: &Inspection<'_>) -> bool {
        let all = inspection.networks.merged(inspection.office);
        let (office, wire, whole) = (all.office, &all.networks.wire, self.whole(inspection));
        let may_be_lost = inspection.office.unsure.about(Medium::Wire) || self.has_lost_ends();
        match whole.inputs {
            0 if whole.signals > 1 && may_be_lost => {
                whole.all_have_addresses(office, wire) || whole.are_contacts_alike(office, wire)
            }
            _ => whole.is_common_alarm(office, wire) || whole.is_addressed(office, wire),
        }
    }

    /// Whether it may have more terminals in other offices than are known.
    fn has_lost_ends(&self) -> bool {
        self.elsewhere.is_some_and(|elsewhere| elsewhere.may_be_more)
    }

    /// Whether several sensors, all of them addressed, come to one sensor input.
    pub fn is_addressed(&self, office: &Office, wire: &Wiring) -> bool {
        self.shares_input(wire, Role::SensorInput) && self.all_have_addresses(office, wire)
    }

    /// Whether several contacts come to one contact input and can form one alarm: normally closed in series, or
    /// normally open in parallel. Contacts of one device always can; those of several devices must state the same
    /// normal state.
    pub fn is_common_alarm(&self, office: &Office, wire: &Wiring) -> bool {
        self.shares_input(wire, Role::ContactInput) && self.are_contacts_alike(office, wire)
    }

    /// Whether several signals come to one input with this role.
    fn shares_input(&self, wire: &Wiring, role: Role) -> bool {
        let input = self.input.filter(|_| self.signals > 1 && self.inputs == 1);
        input.is_some_and(|input| wire.terminal(input).port.role == role)
    }

    /// Whether all its devices are addressed. A damaged one counts, since its address may be unreadable.
    fn all_have_addresses(&self, office: &Office, wire: &Wiring) -> bool {
        self.signals_of(wire).all(|id| {
            let device = office.thing(wire.terminal(id).thing);
            device.has(Key::Address) || device.damaged
        })
    }

    /// Whether its signals are contacts of one device, or all have the same normal state.
    fn are_contacts_alike(&self, office: &Office, wire: &Wiring) -> bool {
        let is_contact = |id| matches!(wire.terminal(id).port.role, Role::Signal(kind) if kind.dimension.is_none());
        let Some(device) = self.signal.map(|signal| wire.terminal(signal).thing) else {
            return false;
        };
        self.signals_of(wire).all(is_contact)
            && (self.signals_of(wire).all(|id| wire.terminal(id).thing == device)
                || self.healthy_state(office, wire).is_some())
    }

    /// Normal state of all its contacts. `None` if they differ.
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

    /// Far end as seen from the signal: the terminal, and where a run names it.
    pub fn far_end(&self, wire: &Wiring) -> Option<(TerminalId, TextRange)> {
        let mut ends = wire.joined_with(self.any()?);
        let end = ends.find(|id| Some(*id) != self.signal && wire.connections_at(*id).len() == 1)?;
        Some((end, place_of(wire, end)))
    }
}

/// The circuit of a terminal as a subject.
pub(super) fn circuit(wire: &Wiring, id: TerminalId) -> Subject {
    Subject::Circuit(wire.joined_with(id).next().unwrap_or(id))
}

/// Circuits by terminal. Each circuit is traced once, however many of its terminals are looked up.
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
        // Callers ask only about the office's own wires.
        let whole = || Circuit::new(self.inspection.own(), wire.joined_with(id));
        *self.known.entry(first).or_insert_with(whole)
    }
}

/// Whether a terminal has more wires than sides. For a pair, wires to the same terminal count once.
pub(super) fn is_crowded(wire: &Wiring, id: TerminalId) -> bool {
    let terminal = wire.terminal(id);
    if !terminal.port.role.goes_through() {
        return wire.connections_at(id).len() > 1;
    }
    if wire.connections_at(id).len() <= 2 {
        return false;
    }
    let mut others = wire
        .connections_at(id)
        .map(|joint| if joint.from == id { joint.to } else { joint.from });
    let one = others.next();
    let two = others.find(|other| Some(*other) != one);
    others.any(|other| Some(other) != one && Some(other) != two)
}

/// Where a run first names a terminal.
pub(crate) fn place_of(wire: &Wiring, id: TerminalId) -> TextRange {
    wire.connections_at(id)
        .next()
        .map_or(TextRange::default(), |joint| joint.range_at(id))
}

/// A signal or input as written in a run: `f1 flow`, `m1 sensor 3`.
pub(super) fn written<'o>(inspection: &Inspection<'o>, id: TerminalId) -> &'o str {
    place_of(&inspection.networks.wire, id).of(&inspection.office.text)
}

/// Name of a terminal in messages: ``pair 3 of `tb` ``, ``sensor input 2 of `m1` ``.
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
