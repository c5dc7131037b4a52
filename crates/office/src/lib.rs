//! The meaning of a file: the kinds of things, the office that the file describes, and the connections between its
//! things.
//!
//! This crate knows the things and runs of the trade. It only judges whether a word, number or name can be understood;
//! whether an office is *correct* is judged by the `rules` crate.

mod allocation;
mod aside;
mod colours;
mod date;
mod drawing;
mod flat;
mod graph;
mod inset;
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
pub use aside::Aside;
pub use date::Date;
pub use drawing::{Drawing, Placed, SharedThing, WITHIN};
/// Standard conditions of a repository, re-exported for crates that pass them on without computing with them.
pub use drysheath_engineering::standard::KnownStandard;
pub use graph::{
    Across, DisjointSets, Joint, Link, Links, Networks, Side, Terminal, TerminalId, Wiring, connector_pairs, lets_air,
};
pub use lower::{BINDING_WORDS, Candidate, CountsFrom, can_be_expected, happens_to, lower, quantity};
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
pub use unit_preferences::{UnitPreferences, as_fine_as, reporting_step, rounded};
pub use unsure::{Media, Unsure};
pub use value::{
    At, Field, Fields, Fitting, FittingType, Given, Limit, LimitLevel, LinkMedium, Loss, Other, Recorded, Severity,
    Sex, Value,
};
pub use when::{Event, Expectation, Expected, Happening, Setting, Timing, When};
