//! Pairs, signals and inputs: a pair carries one signal, from its device to one input.

mod beyond;
pub(crate) mod cable_pair_out_of_range;
pub(crate) mod cable_pair_stranded;
mod circuit;
pub(crate) mod colours_contradict_code;
pub(crate) mod contacts_share_input;
pub(crate) mod dead_end;
pub(crate) mod device_without_pair;
pub(crate) mod dryer_without_contact;
pub(crate) mod input_assigned_twice;
pub(crate) mod input_not_said_spare;
pub(crate) mod input_out_of_range;
pub(crate) mod input_without_signal;
mod line;
pub(crate) mod line_shared;
pub(crate) mod loop_over_limit;
mod numbers;
pub(crate) mod pair_assigned_twice;
pub(crate) mod pair_not_at_device;
pub(crate) mod pair_not_free;
pub(crate) mod pair_not_said_spare;
pub(crate) mod pair_out_of_range;
pub(crate) mod pair_state_twice;
pub(crate) mod private_address_twice;
pub(crate) mod range_lengths_differ;
pub(crate) mod rest_empty;
pub(crate) mod rest_twice;
pub(crate) mod signal_on_wrong_input;
pub(crate) mod signal_wired_twice;
pub(crate) mod spare_in_use;
pub(crate) mod spare_out_of_range;
mod unwired;

pub(crate) use circuit::{Circuit, called, place_of};
pub(crate) use numbers::numbered;
