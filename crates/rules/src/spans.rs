//! Spans, limits and proof pressures of sensors: what a sensor can read, when it raises an alarm, what it stands.

mod leak_trips_no_limit;
mod limit_finer_than_step;
mod limit_near_span_end;
mod limit_outside_span;
mod limit_trips_when_well;
mod limit_within_error;
mod limits_out_of_order;
mod low_limit_under_minimum;
pub(crate) mod normal_not_as_predicted;
mod normal_outside_middle;
mod order;
mod predicted_off_span;
mod predicted_outside_middle;
mod proof_below_source;
mod reading;
mod span_empty;

use crate::rule::Rule;

pub(crate) use reading::{Reading, readings};

pub(crate) static RULES: &[&Rule] = &[
    &span_empty::RULE,
    &limit_outside_span::RULE,
    &limit_near_span_end::RULE,
    &limits_out_of_order::RULE,
    &limit_finer_than_step::RULE,
    &normal_outside_middle::RULE,
    &low_limit_under_minimum::RULE,
    &proof_below_source::RULE,
    &predicted_off_span::RULE,
    &predicted_outside_middle::RULE,
    &normal_not_as_predicted::RULE,
    &limit_trips_when_well::RULE,
    &limit_within_error::RULE,
    &leak_trips_no_limit::RULE,
];
