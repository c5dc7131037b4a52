//! What an office's file lets one compute: the pressure and flow everywhere in its air network, the voltage at its loads and
//! the resistance of its loops, and what the file would have to say for more.
//!
//! This room joins the office of the `office` room with the laws of the `engineering` room. It judges nothing: what a
//! figure should be is the business of the `rules` room.

mod air;
mod decay;
mod draft;
mod dryers;
mod dryness;
mod feeds;
mod gap;
mod lines;
mod loops;
mod minimum;
mod path;
mod points;
mod prediction;
mod settle;
mod signal;
mod spot;

pub use air::{Air, Culprit, Failure, Leaking, Place};
pub use decay::{DecayTest, decay_test};
pub use dryers::{Capacity, capacity};
pub use dryness::Dryness;
pub use feeds::{Conductor, Feed, feeds};
pub use gap::{Gap, Unlocks};
pub use lines::{Line, Reach};
pub use loops::{
    Limit as LoopLimit, Limits as LoopLimits, Loop, Of as LoopPart, SetBy, SignalWay, Stretch, Supply as LoopSupply,
    loops, signal_ways,
};
pub use minimum::{DeclaredBy, Minimum, Practice, minimum};
pub use path::{Leg, Step, Way};
pub use points::Point;
pub use prediction::Prediction;
pub use signal::Expected;
pub use spot::{length_name, line_name, spot_name};
