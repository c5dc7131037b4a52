//! Pairs, signals and inputs: a pair carries one signal, from its device to one input.

mod beyond;
mod cable_pair_out_of_range;
mod cable_pair_stranded;
mod colours_contradict_code;
mod dead_end;
mod device_without_pair;
mod input_assigned_twice;
mod input_out_of_range;
mod input_without_signal;
mod line;
mod line_shared;
mod loop_over_limit;
mod numbers;
mod pair_assigned_twice;
mod pair_not_said_spare;
mod pair_out_of_range;
mod range_lengths_differ;
mod signal_on_wrong_input;
mod signal_wired_twice;
mod spare_in_use;
mod spare_out_of_range;
mod unwired;

use crate::rule::Rule;

pub(crate) static RULES: &[&Rule] = &[
    &pair_assigned_twice::RULE,
    &input_assigned_twice::RULE,
    &signal_wired_twice::RULE,
    &device_without_pair::RULE,
    &input_without_signal::RULE,
    &dead_end::RULE,
    &cable_pair_stranded::RULE,
    &signal_on_wrong_input::RULE,
    &range_lengths_differ::RULE,
    &pair_out_of_range::RULE,
    &cable_pair_out_of_range::RULE,
    &input_out_of_range::RULE,
    &colours_contradict_code::RULE,
    &pair_not_said_spare::RULE,
    &spare_in_use::RULE,
    &spare_out_of_range::RULE,
    &line_shared::RULE,
    &loop_over_limit::RULE,
];
