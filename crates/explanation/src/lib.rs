//! How the figures of an office are computed: what each is computed from and where the file states it, the law, the steps on the
//! path of air or current, and the margins to limits.
//!
//! This room gathers facts and words none of them but the laws. The `report` room renders them as text, tables and records, the
//! `ide` room as what a hover shows.

mod bound;
mod conditions;
mod detection;
mod dryer;
mod explainer;
mod feed;
mod hold_up;
mod law;
mod path;
mod reading;
mod regulator;
mod section;
mod signal_loop;
mod usage;

pub use bound::Bound;
pub use conditions::SiteConditions;
pub use detection::{LineDetection, PlaceDetection, Reported};
pub use dryer::{BottleFacts, DryerFacts, Rating};
pub use explainer::Explainer;
pub use feed::{least_voltage, voltage_margin};
pub use hold_up::HoldUpFacts;
pub use law::Law;
pub use path::{AirPath, AirPathStep, AirSource, Input, Passage};
pub use reading::{ReadingLimit, SignalReading, stated_unit};
pub use regulator::{Passing, RegulatorFacts};
pub use section::SectionAir;
pub use signal_loop::{LimitInputs, limit_inputs, loop_of};
pub use usage::{SystemUsage, UsageShare};
