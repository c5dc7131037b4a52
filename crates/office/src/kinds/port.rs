use drysheath_engineering::units::Dimension;
use drysheath_syntax::Medium;

use super::Key;

/// A point of a thing where runs can end.
#[derive(Debug, PartialEq)]
pub struct Port {
    /// Word after the thing's name; also used as the name in messages.
    pub word: &'static str,
    /// The medium of its runs.
    pub medium: Medium,
    /// Numbers or names that follow the word.
    pub numbering: Numbering,
    /// The function of the port.
    pub role: Role,
    /// When a run end without a port means this one.
    pub bare: Bare,
    /// A phrase that describes it.
    pub doc: &'static str,
}

/// Numbers or names that follow a port's word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Numbering {
    /// The word stands alone.
    None,
    /// A number from 1 to the count in a field.
    Count(Key),
    /// A number within the rows in a field, with printed letters; or up to the count in that field.
    Range(Key),
    /// The number of one of several connectors of 25 pairs, or nothing for all pairs at once.
    Connectors,
    /// The name of one of the thing's own named fields.
    Named(Key),
}

/// When a run end that names only the thing means a port.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bare {
    /// Never: the port has to be named.
    Never,
    /// Where an arrow points to the thing.
    Target,
    /// Where an arrow leaves the thing.
    Source,
    /// On either side of an arrow.
    Always,
}

/// The function of a port.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Role {
    /// Where air comes in.
    Inlet,
    /// Where air goes out.
    Outlet,
    /// A tap along the line.
    Tap,
    /// Source of a signal.
    Signal(SignalKind),
    /// A pair, with wires on both sides.
    Pair,
    /// The connector of all its pairs at once.
    Connector,
    /// A monitor's input for sensors.
    SensorInput,
    /// A monitor's input for contacts.
    ContactInput,
    /// A monitor's output, which switches a control.
    Output,
    /// A control that an output switches.
    Control,
    /// Terminals of a battery, where power runs start.
    Battery,
    /// Supply input of a panel.
    PanelInput,
    /// A fuse position of a panel.
    Fuse,
    /// Supply input of equipment.
    Load,
    /// The frame of equipment, to be grounded.
    Frame,
    /// The return conductor of the battery.
    Return,
    /// A ground bar that conductors end on.
    Bar,
}

/// The quantity of a signal, and the place of its fields.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SignalKind {
    /// The quantity that it measures. `None` for a contact.
    pub dimension: Option<Dimension>,
    /// The quantity at which a contact switches, if it has a set point.
    pub switches_at: Option<Dimension>,
    /// The place of its fields.
    pub source: SignalSource,
}

/// The place of a signal's fields.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SignalSource {
    /// Among the thing's own fields.
    Own,
    /// In a group; without the group the signal does not exist.
    Group(Key),
    /// In each of the named fields.
    Named(Key),
}

impl SignalKind {
    /// A signal that measures a quantity.
    pub(super) const fn measured(dimension: Dimension, source: SignalSource) -> Self {
        Self {
            dimension: Some(dimension),
            switches_at: None,
            source,
        }
    }

    /// Dimension of its limits: the quantity that it measures or switches at.
    pub fn reads(self) -> Option<Dimension> {
        self.dimension.or(self.switches_at)
    }
}

impl Role {
    /// Whether it is an input for signals.
    pub fn is_input(self) -> bool {
        matches!(self, Self::SensorInput | Self::ContactInput)
    }

    /// Whether a circuit begins there: a signal, or an output that switches something.
    pub fn begins_circuit(self) -> bool {
        matches!(self, Self::Signal(_) | Self::Output)
    }

    /// Whether a circuit ends there: an input, or a control.
    pub fn ends_circuit(self) -> bool {
        self.is_input() || self == Self::Control
    }
}

impl Port {
    pub(super) const fn new(word: &'static str, medium: Medium, role: Role, bare: Bare, doc: &'static str) -> Self {
        Self {
            word,
            medium,
            numbering: Numbering::None,
            role,
            bare,
            doc,
        }
    }

    pub(super) const fn numbered(mut self, numbering: Numbering) -> Self {
        self.numbering = numbering;
        self
    }

    /// Whether its word is followed by a number.
    pub fn is_counted(&self) -> bool {
        matches!(self.numbering, Numbering::Count(_) | Numbering::Range(_))
    }

    /// Whether its numbers may have letters before them.
    pub fn has_letters(&self) -> bool {
        matches!(self.numbering, Numbering::Range(_))
    }

    /// Whether it can be declared spare: unused numbers, or a contact or control that a part has and an office does not
    /// use.
    pub fn can_be_spare(&self) -> bool {
        self.is_counted() || matches!(self.numbering, Numbering::Named(_))
    }

    /// Name of one of its numbers in messages.
    pub fn noun(&self) -> &'static str {
        match (self.medium, self.numbering) {
            (Medium::Wire, Numbering::Range(Key::Sensors)) => "sensor input",
            (Medium::Wire, Numbering::Range(Key::Contacts)) => "contact input",
            (Medium::Wire, Numbering::Range(Key::Outputs)) => "control output",
            (Medium::Power, _) => "fuse position",
            _ => self.word,
        }
    }
}
