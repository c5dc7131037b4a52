//! Rules on spans, limits and proof pressures of sensors.

pub(crate) mod cut_trips_no_limit;
mod cut_watch;
pub(crate) mod deadband_past_normal;
pub(crate) mod error_below_step;
pub(crate) mod flow_span_too_wide;
pub(crate) mod high_limit_above_rating;
pub(crate) mod leak_trips_no_limit;
pub(crate) mod limit_finer_than_step;
pub(crate) mod limit_near_span_end;
mod limit_order;
pub(crate) mod limit_outside_span;
pub(crate) mod limit_trips_when_well;
pub(crate) mod limit_within_error;
pub(crate) mod limit_without_deadband;
pub(crate) mod limits_out_of_order;
mod location_text;
pub(crate) mod low_limit_too_late;
pub(crate) mod low_limit_under_minimum;
mod nearest_limit;
pub(crate) mod normal_not_as_predicted;
pub(crate) mod normal_outside_middle;
pub(crate) mod predicted_off_span;
pub(crate) mod predicted_outside_middle;
pub(crate) mod proof_below_source;
mod reading;
pub(crate) mod second_limit_alone;
pub(crate) mod sensor_raises_no_alarm;
pub(crate) mod span_empty;
pub(crate) mod supply_alarm_too_late;
pub(crate) mod switch_limit_twice;
mod undetected;
mod watchers;
pub(crate) mod wet_air_alarm_too_late;

pub(crate) use reading::{Reading, Signals, readings};
pub(crate) use watchers::{compared, is_unsure};
