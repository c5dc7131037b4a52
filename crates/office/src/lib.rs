//! The meaning of a file: the kinds of things, the office that the file describes, and the connections between its
//! things.
//!
//! This crate knows the things and runs of the trade. It only judges whether a word, number or name can be understood;
//! whether an office is *correct* is judged by the `rules` crate.

mod allocation;
mod colours;
mod date;
mod drawing;
mod embedding;
mod excluded;
mod expand;
mod graph;
pub mod kinds;
pub mod line;
mod lower;
mod model;
mod numbers;
mod parts;
mod problem;

mod semantics;
mod spelling;
mod summary;
mod unit_preferences;
mod unsure;
mod value;
mod when;

pub use allocation::{Allocation, Free, FreeCount, FreeState, NumberRange};
pub use date::Date;
pub use drawing::{Drawing, NAME_SEPARATOR, PlacedDrawing, SharedThing};
/// Standard conditions of a repository, re-exported for crates that pass them on without computing with them.
pub use drysheath_engineering::standard::NamedStandardConditions;
pub use excluded::Excluded;
pub use graph::{
    DisjointSets, Link, LinkEnd, Links, MergedOffice, Networks, Terminal, TerminalId, WireConnection, Wiring,
    connector_pairs, lets_air,
};
pub use lower::{BINDING_WORDS, Candidate, CountsFrom, can_be_expected, lower, possible_events, quantity};
pub use model::{
    Acceptance, Adapter, Attributes, Decay, End, Measured, Office, Reading, Rows, Run, RunId, Signal, Spanned,
    SpareRange, StatedRange, Thing, ThingId,
};
pub use numbers::{MOST_LETTERS, Printed, in_row, numbers_written, printed};
pub use parts::{EXTENSION, NoParts, Part, PartsFile, PartsInMemory, PartsLookup, PartsSource, SETTINGS};
pub use problem::{Problem, ProblemId};
pub use semantics::{Figure, Meaning, SemanticToken};
pub use spelling::{inches, nearest, with_article};
pub use summary::{MonitorLink, Summary};
pub use unit_preferences::{UnitPreferences, reporting_step, rounded, rounded_to_step};
pub use unsure::{Media, Unsure};
pub use value::{
    Field, Fields, Fitting, FittingType, GivenQuantity, Limit, LimitLevel, LinkMedium, Loss, Recorded, Severity, Sex,
    StatedPosition, ThingReference, Value,
};
pub use when::{Event, EventKind, Expectation, ExpectedCondition, FieldOverride, Timing, UnreadWhen, When};
