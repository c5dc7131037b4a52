//! What can be computed from an office's file: pressure and flow throughout its air network, voltage at its loads,
//! resistance of its loops, and the inputs that are missing for more.
//!
//! This crate applies the laws of `engineering` to the office model of `office`. It makes no judgement: the `rules`
//! crate decides what a figure should be.

mod air;
mod bottles;
mod decay_test;
mod dryer_capacity;
mod dryness;
mod expectation;
mod expected_reading;
mod feeds;
mod hold_up;
mod line;
mod loops;
mod minimum_pressure;
mod missing_input;
mod names;
mod prediction;
mod profile;
mod rated;
mod supply_path;

pub use air::{
    Air, AirLocation, AirTransient, BoreTarget, Bounds, Detection, Failure, Fit, FitParameter, FitProblem, Fitted,
    FittedReading, HoleEffect, LeakInterval, LeakSearch, LinePoint, NetworkChange, Observation, OutletBounds,
    ReadQuantity, SectionOf, SmallestLeak, Spread, StateError, SupplyTree, SystemId, TreePlace, Uncertainty, Watcher,
    WatcherId, back_flow_note,
};
pub use bottles::{bottles, bottles_last};
pub use decay_test::{DecayTest, decay_test};
pub use dryer_capacity::{Capacity, capacity, cycle};
pub use dryness::Dryness;
pub use expectation::{
    AirState, AlarmReading, Doubt, ExpectationOutcome, Least, Lowest, alarm_readings, changes, outcome, relief_note,
};
pub use expected_reading::ExpectedReading;
pub use feeds::{Conductor, Feed, feeds};
pub use hold_up::{FirstShortfall, HoldUp, HoldUpRequirement, LONGEST_HOLD_UP, hold_up};
pub use line::{Line, LineSection};
pub use loops::{
    ControlLoop, Loop, LoopLimit, LoopLimits, LoopPart, LoopStretch, OtherDevice, SetBy, SignalPath, StatedLoopSupply,
    control_paths, controls, loops, signal_paths,
};
pub use minimum_pressure::{DeclaredBy, DefaultMinimums, MinimumPressure, minimum_pressure};
pub use missing_input::{MissingInput, NeededFor};
pub use names::{distance_name, line_name, position_name};
pub use prediction::Prediction;
pub use profile::{Landmark, ProfilePoint};
pub use rated::rated_by;
pub use supply_path::{PathElement, PathSource, PathStep, SupplyPath};
