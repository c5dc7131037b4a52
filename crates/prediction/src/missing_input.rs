use drysheath_office::ThingId;
use drysheath_text::TextRange;

/// The computation that needs a missing input.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum NeededFor {
    /// Pressures and flows of the air network.
    Air,
    /// Dryness of the air.
    Dryness,
    /// The voltage at a load.
    Voltage,
    /// The resistance of a loop.
    Loop,
    /// The air lost in a decay test.
    Decay,
    /// Pressures after a time in another state.
    Time,
}

impl NeededFor {
    /// Name, as the end of the sentence "with it one could compute …".
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Air => "the pressures and flows",
            Self::Dryness => "how dry the air in the cables is",
            Self::Voltage => "the voltage at the loads",
            Self::Loop => "the resistance of the loops",
            Self::Decay => "what a cable lost in its decay test",
            Self::Time => "how long the pressures hold",
        }
    }
}

/// An input that the file does not state, and that some computation needs. No value is assumed for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MissingInput {
    /// The thing that it belongs to.
    pub on: ThingId,
    /// Where in the office's file it could be stated.
    pub range: TextRange,
    /// What is missing, such as "the bore of the tube from `r1` to `f1`".
    pub what: String,
    /// The computation that needs it.
    pub needed_for: NeededFor,
}
