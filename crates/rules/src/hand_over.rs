//! Items missing from an office before its records are handed over to those who enter them at the monitoring centre.
//!
//! These rules run only when an office's records are written: until then their results are not mistakes.

mod inputs;

pub(crate) mod block_pair_missing;
pub(crate) mod cable_pair_missing;
pub(crate) mod healthy_state_missing;
pub(crate) mod input_signal_unclear;
pub(crate) mod limit_incomplete;
pub(crate) mod limit_missing;
pub(crate) mod loop_unknown;
pub(crate) mod monitor_link_missing;
pub(crate) mod no_input_in_use;
pub(crate) mod office_still_planned;
pub(crate) mod span_missing;
