use std::cell::LazyCell;
use std::collections::HashMap;

use drysheath_office::kinds::{KindId, Role};
use drysheath_office::{Office, Terminal, TerminalId, Wiring};
use drysheath_syntax::Medium;
use drysheath_text::TextRange;

use crate::lint::Inspection;

/// Terminals that wires join into one: in a sound office one device's signal on its way to one input.
#[derive(Clone, Copy, Default)]
pub(super) struct Line {
    /// How many signals meet in it.
    pub signals: u32,
    /// How many inputs meet in it.
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

/// Every line of an office.
pub(super) fn lines<'i>(inspection: &'i Inspection<'_>) -> impl Iterator<Item = Line> + 'i {
    let wire = &inspection.networks.wire;
    wire.groups().map(|group| Line::new(inspection.office, wire, group))
}

impl Line {
    fn new(office: &Office, wire: &Wiring, group: impl Iterator<Item = TerminalId>) -> Self {
        let mut line = Self::default();
        for id in group {
            let Some(terminal) = wire.terminal(id) else { continue };
            match terminal.port.role {
                Role::Signal(_) => {
                    line.signals += 1;
                    line.signal = Some(id);
                }
                role if role.is_input() => {
                    line.inputs += 1;
                    line.input = Some(id);
                }
                _ if office.thing(terminal.thing).is(KindId::Block) => {
                    line.block = Some(id);
                }
                _ => line.cable = Some(id),
            }
        }
        line
    }

    /// One of its terminals.
    pub fn any(&self) -> Option<TerminalId> {
        self.signal.or(self.input).or(self.block).or(self.cable)
    }

    /// Whether more meets in it than one signal and one input, or it forks. That is a result of its own, and what else
    /// may be said of the line follows from it.
    pub fn is_tangled(&self, wire: &Wiring) -> bool {
        self.signals > 1 || self.inputs > 1 || self.forks(wire)
    }

    /// Whether some terminal of it has more wires than it has sides.
    pub fn forks(&self, wire: &Wiring) -> bool {
        self.any()
            .is_some_and(|any| wire.joined_with(any).any(|id| is_crowded(wire, id)))
    }

    /// Whether its only signal has several wires: whatever it meets twice, it meets for that reason.
    pub fn is_one_signal_wired_twice(&self, wire: &Wiring) -> bool {
        self.signals == 1 && self.signal.is_some_and(|signal| wire.joints_at(signal).len() > 1)
    }

    /// Where it stops, seen from its signal: the terminal, and where a run names it.
    pub fn far_end(&self, wire: &Wiring) -> Option<(TerminalId, TextRange)> {
        let mut ends = wire.joined_with(self.any()?);
        let end = ends.find(|id| Some(*id) != self.signal && wire.joints_at(*id).len() == 1)?;
        Some((end, place_of(wire, end)))
    }
}

/// Lines by their terminals. Each is looked at once, however many of its terminals are asked about.
pub(super) struct LineOf<'i, 'o> {
    inspection: &'i Inspection<'o>,
    known: HashMap<TerminalId, (Line, bool)>,
}

impl<'i, 'o> LineOf<'i, 'o> {
    pub fn new(inspection: &'i Inspection<'o>) -> Self {
        Self {
            inspection,
            known: HashMap::new(),
        }
    }

    /// The line that a terminal lies on, and whether it is tangled.
    pub fn find(&mut self, id: TerminalId) -> (Line, bool) {
        let wire = &self.inspection.networks.wire;
        let first = wire.joined_with(id).next().unwrap_or(id);
        *self.known.entry(first).or_insert_with(|| {
            let line = Line::new(self.inspection.office, wire, wire.joined_with(id));
            (line, line.is_tangled(wire))
        })
    }
}

/// Whether a terminal has more wires than it has sides. Wires to the same place count once for a pair.
pub(super) fn is_crowded(wire: &Wiring, id: TerminalId) -> bool {
    let Some(terminal) = wire.terminal(id) else {
        return false;
    };
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
pub(super) fn place_of(wire: &Wiring, id: TerminalId) -> TextRange {
    wire.joints_at(id)
        .next()
        .map_or(TextRange::default(), |joint| joint.range_at(id))
}

/// How the author writes a signal or an input: `f1 flow`, `m1 sensor 3`.
pub(super) fn written<'o>(inspection: &Inspection<'o>, id: TerminalId) -> &'o str {
    place_of(&inspection.networks.wire, id).of(&inspection.office.text)
}

/// How a terminal is called in a message: ``pair 3 of `tb` ``, ``sensor input 2 of `m1` ``.
pub(super) fn called(office: &Office, terminal: &Terminal) -> String {
    let (noun, number) = (terminal.port.noun(), terminal.number);
    format!("{noun} {number} of `{}`", office.name(terminal.thing))
}

/// Whether every wire joins as many pairs as it joins them to. Otherwise some of them lead nowhere for that reason
/// alone. It is worked out when it is first asked for.
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
