//! Air runs: everything that needs air is supplied within its dryer's capacity, fittings mate, and each cable is monitored
//! to its far end.

pub(crate) mod air_missing;
pub(crate) mod air_not_computed;
pub(crate) mod air_ports_doubled;
pub(crate) mod bottles_soon_empty;
pub(crate) mod budget;
pub(crate) mod cable_end_unwatched;
pub(crate) mod check_valve_missing;
pub(crate) mod depth_of_aerial;
pub(crate) mod dew_point_above_coldest;
pub(crate) mod dryer_capacity_short;
pub(crate) mod dryer_duty_cycle_high;
pub(crate) mod dryer_far_too_large;
pub(crate) mod dryer_feeds_nothing;
pub(crate) mod dryer_margin_short;
pub(crate) mod dryer_overdrawn;
mod failed_place;
pub(crate) mod fittings_do_not_mate;
pub(crate) mod flow_beyond_loss;
pub(crate) mod flow_not_laminar;
pub(crate) mod loop_without_valve;
pub(crate) mod loss_curve_doubtful;
pub(crate) mod loss_not_rising;
pub(crate) mod placed_twice;
pub(crate) mod pressure_above_rating;
pub(crate) mod pressure_below_minimum;
pub(crate) mod pressure_below_water_head;
mod reach;
pub(crate) mod section_needs_one_surroundings;
pub(crate) mod sensor_beyond_cable;
pub(crate) mod source_backed_up;
pub(crate) mod standby_not_below;
pub(crate) mod temperatures_out_of_order;
pub(crate) mod thread_standard_unknown;
pub(crate) mod tubes_do_not_join;
pub(crate) mod usage_beyond_lines;
