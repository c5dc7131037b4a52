//! The record as a whole.

pub(crate) mod checks_left_out;
pub(crate) mod contact_cannot_report_cut_pair;
pub(crate) mod decay_above_usage;
pub(crate) mod decay_test_impossible;
pub(crate) mod elevation_missing;
mod itself;
mod leak_place;
pub(crate) mod limit_without_severity;
mod meter_readings;
pub(crate) mod name_is_word;
pub(crate) mod name_malformed;
pub(crate) mod name_twice;
pub(crate) mod names_alike;
pub(crate) mod newest;
pub(crate) mod office_missing;
pub(crate) mod office_name_twice;
pub(crate) mod part_unused;
pub(crate) mod prediction_incomplete;
pub(crate) mod reading_in_future;
pub(crate) mod reading_off_prediction;
pub(crate) mod reading_off_span;
pub(crate) mod readings_while_planned;
pub(crate) mod site_code_twice;
pub(crate) mod stage_missing;
pub(crate) mod title_missing;
