//! What the other offices that share a route wire to its pairs.

use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Fields, Networks, Office, SharedThing, Terminal};
use drysheath_text::Place;
use rustc_hash::FxHashMap;

use super::circuit::place_of;

/// What another office wires to a pair of a route.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Elsewhere {
    /// The number of that office among the neighbours.
    pub neighbour: usize,
    /// Number of its signals that come to the pair.
    pub signals: u32,
    /// How many of them are of sensors with an address.
    pub addressed: u32,
    /// Number of its inputs that the pair leads to.
    pub inputs: u32,
    /// Whether one of its signals is a contact; none where it has no signal.
    pub is_contact: Option<bool>,
    /// Where it wires the pair.
    pub place: Place,
}

/// The pairs of routes that other offices wire.
#[derive(Default)]
pub(super) struct WiredElsewhere(FxHashMap<(SharedThing, &'static str, u32), Elsewhere>);

impl WiredElsewhere {
    /// Those of the routes of an office.
    pub fn of(office: &Office) -> Self {
        let mut all = Self::default();
        for (neighbour, other) in office.neighbours.iter().enumerate() {
            let wire = Networks::new(other).wire;
            for group in wire.groups() {
                let mut found = Elsewhere {
                    neighbour,
                    signals: 0,
                    addressed: 0,
                    inputs: 0,
                    is_contact: None,
                    place: Place::default(),
                };
                let mut pairs = Vec::new();
                for id in group {
                    let terminal = wire.terminal(id);
                    if terminal.port.role.begins_circuit() {
                        found.signals += 1;
                        found.addressed += u32::from(other.thing(terminal.thing).has(Key::Address));
                        if let Role::Signal(kind) = terminal.port.role {
                            found.is_contact = Some(kind.dimension.is_none());
                        }
                    } else if terminal.port.role.ends_circuit() {
                        found.inputs += 1;
                    } else if let Some(shared) = other.shared(terminal.thing) {
                        let place = other.written(other.place(place_of(&wire, id)));
                        pairs.push(((shared, terminal.port.word, terminal.number), place));
                    }
                }
                all.0.extend(
                    pairs
                        .into_iter()
                        .map(|(pair, place)| (pair, Elsewhere { place, ..found })),
                );
            }
        }
        all
    }

    /// What is wired elsewhere to a terminal of the office.
    pub fn at(&self, office: &Office, terminal: &Terminal) -> Option<Elsewhere> {
        if self.0.is_empty() {
            return None;
        }
        let shared = office.shared(terminal.thing)?;
        self.0.get(&(shared, terminal.port.word, terminal.number)).copied()
    }
}
