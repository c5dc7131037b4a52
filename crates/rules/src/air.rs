//! Air runs: every thing that lives on air gets it, no more than its dryer can dry, by joints that mate, and each cable
//! is watched to its end.

mod air_missing;
mod air_not_computed;
mod air_ports_doubled;
mod budget;
mod cable_end_unwatched;
mod culprit;
mod dew_point_above_coldest;
mod dryer_capacity_short;
mod dryer_duty_cycle_high;
mod dryer_overdrawn;
mod fittings_do_not_mate;
mod flow_not_laminar;
mod loop_without_valve;
mod pressure_above_rating;
mod pressure_below_minimum;
mod pressure_below_water_head;
mod section_needs_one_surroundings;
mod sensor_beyond_cable;
mod source_backed_up;
mod usage_beyond_lines;

use crate::rule::Rule;

pub(crate) use budget::is_too_much_at;
pub(crate) use loop_without_valve::has_loop_or_doubled_inlet;
pub(crate) use pressure_above_rating::is_pressed;
pub(crate) use pressure_below_minimum::is_short_of_pressure;
pub(crate) use usage_beyond_lines::is_beyond;

pub(crate) static RULES: &[&Rule] = &[
    &air_missing::RULE,
    &dryer_capacity_short::RULE,
    &dryer_overdrawn::RULE,
    &dryer_duty_cycle_high::RULE,
    &source_backed_up::RULE,
    &loop_without_valve::RULE,
    &air_ports_doubled::RULE,
    &fittings_do_not_mate::RULE,
    &cable_end_unwatched::RULE,
    &sensor_beyond_cable::RULE,
    &section_needs_one_surroundings::RULE,
    &pressure_below_minimum::RULE,
    &pressure_below_water_head::RULE,
    &pressure_above_rating::RULE,
    &usage_beyond_lines::RULE,
    &air_not_computed::RULE,
    &flow_not_laminar::RULE,
    &dew_point_above_coldest::RULE,
];
