//! Air runs: every thing that lives on air gets it, no more than its dryer can dry, by joints that mate, and each cable
//! is watched to its end.

mod air_missing;
mod air_ports_doubled;
mod cable_end_unwatched;
mod dryer_capacity_short;
mod fittings_do_not_mate;
mod groups;
mod loop_without_valve;
mod pressure_below_minimum;
mod section_needs_one_surroundings;
mod sensor_beyond_cable;

use crate::rule::Rule;

pub(crate) use pressure_below_minimum::shortfall;

pub(crate) static RULES: &[&Rule] = &[
    &air_missing::RULE,
    &dryer_capacity_short::RULE,
    &loop_without_valve::RULE,
    &air_ports_doubled::RULE,
    &fittings_do_not_mate::RULE,
    &cable_end_unwatched::RULE,
    &sensor_beyond_cable::RULE,
    &section_needs_one_surroundings::RULE,
    &pressure_below_minimum::RULE,
];
