//! What an office's file lets one compute: the pressure and flow everywhere in its air network, the voltage at its loads and
//! the resistance of its loops, and what the file would have to say for more.
//!
//! This room joins the office of the `office` room with the laws of the `engineering` room. It judges nothing: what a
//! figure should be is the business of the `rules` room.

pub mod feeds;
mod gap;
pub mod loops;

pub use gap::{Gap, Unlocks};
