//! How the figures of an office are computed: their inputs with places in the file, the law, the steps along the path
//! of air or current, and the margins to limits.
//!
//! This crate collects facts and contains no wording except the laws. The `report` crate renders them as text, tables
//! and records, the `ide` crate as hovers.

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
pub use detection::{DetectedLeak, LineDetection, PlaceDetection};
pub use dryer::{BottleFacts, DryerFacts, Rating};
pub use explainer::Explainer;
pub use feed::{least_voltage, voltage_margin};
pub use hold_up::HoldUpFacts;
pub use law::Law;
pub use path::{AirPath, AirPathElement, AirPathStep, AirSource, Input};
pub use reading::{ReadingLimit, SignalReading, stated_unit};
pub use regulator::{OperatingPoint, RegulatorFacts};
pub use section::SectionAir;
pub use signal_loop::{LimitInputs, limit_inputs, loop_of};
pub use usage::{SystemUsage, UsageShare};
