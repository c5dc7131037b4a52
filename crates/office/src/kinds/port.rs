use drysheath_engineering::units::Dimension;
use drysheath_syntax::Medium;

use super::Key;

/// Where a run can end on a thing.
#[derive(Debug, PartialEq)]
pub struct Port {
    /// The word after the thing's name; also the port's name in messages.
    pub word: &'static str,
    /// The medium of the runs that end here.
    pub medium: Medium,
    /// What follows the word.
    pub numbering: Numbering,
    /// What the port does.
    pub role: Role,
    /// When a run that names the thing alone means this port.
    pub bare: Bare,
    /// What it is, in a phrase.
    pub doc: &'static str,
}

/// What follows a port's word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Numbering {
    /// The port has no numbers.
    None,
    /// A number from 1 to the count that a field gives.
    Count(Key),
    /// A number of the rows that a field gives, with the letters that are printed before it; or up to the count that it gives.
    Range(Key),
    /// The number of one of several connectors of 25 pairs, or none for all pairs at once.
    Connectors,
    /// The name of one of the thing's own named fields.
    Named(Key),
}

/// When a run that names the thing alone means a port.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bare {
    /// Never: the port has to be said.
    Never,
    /// Where an arrow points to the thing.
    Target,
    /// Where an arrow leaves the thing.
    Source,
    /// At the start and at the end of an arrow.
    Always,
}

/// What a port does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Role {
    /// Air enters the thing here.
    Inlet,
    /// Air leaves the thing here.
    Outlet,
    /// Something is tapped along the way.
    Tap,
    /// A signal comes from here.
    Signal(SignalKind),
    /// A pair, which goes through.
    Pair,
    /// The connector of all its pairs at once.
    Connector,
    /// A monitor's input for sensors.
    SensorInput,
    /// A monitor's input for contacts.
    ContactInput,
    /// A monitor's output, which switches a control.
    Output,
    /// What an output switches.
    Control,
    /// Battery comes from here.
    Battery,
    /// Battery comes to the panel here.
    PanelInput,
    /// A fuse position of a panel.
    Fuse,
    /// The battery input of equipment.
    Load,
    /// The frame of equipment, to be grounded.
    Frame,
    /// The return conductor of the battery.
    Return,
    /// A ground bar that conductors end on.
    Bar,
}

/// What a signal measures, and where its fields are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SignalKind {
    /// What it measures; a contact measures nothing.
    pub dimension: Option<Dimension>,
    /// What a contact switches at, if it is a set point of something that could be measured.
    pub switches_at: Option<Dimension>,
    /// Where the signal's fields are.
    pub source: SignalSource,
}

/// Where a signal's fields are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SignalSource {
    /// Among the thing's own.
    Own,
    /// In a group, and without the group there is no such signal.
    Group(Key),
    /// In each of the named fields.
    Named(Key),
}

impl SignalKind {
    /// A signal that measures something.
    pub(super) const fn measured(dimension: Dimension, source: SignalSource) -> Self {
        Self {
            dimension: Some(dimension),
            switches_at: None,
            source,
        }
    }

    /// What its limits are stated in: what it measures or switches at.
    pub fn reads(self) -> Option<Dimension> {
        self.dimension.or(self.switches_at)
    }
}

impl Role {
    /// Whether a signal ends there.
    pub fn is_input(self) -> bool {
        matches!(self, Self::SensorInput | Self::ContactInput)
    }

    /// Whether a circuit begins there: with a signal, or with an output that switches something.
    pub fn begins_circuit(self) -> bool {
        matches!(self, Self::Signal(_) | Self::Output)
    }

    /// Whether a circuit ends there: at an input, or at what an output switches.
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

    /// Whether its word is followed by a number that counts something.
    pub fn is_counted(&self) -> bool {
        matches!(self.numbering, Numbering::Count(_) | Numbering::Range(_))
    }

    /// Whether its numbers may have letters before them.
    pub fn has_letters(&self) -> bool {
        matches!(self.numbering, Numbering::Range(_))
    }

    /// Whether some of it may be declared spare: numbers that nothing uses, or a contact or control that a part has and a place
    /// does not use.
    pub fn can_be_spare(&self) -> bool {
        self.is_counted() || matches!(self.numbering, Numbering::Named(_))
    }

    /// What one of its numbers is called in messages.
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
