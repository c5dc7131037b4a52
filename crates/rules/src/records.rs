//! The record as a whole.

mod contact_cannot_report_cut_pair;
mod decay_above_usage;
mod elevation_missing;
mod itself;
mod leak_place;
mod limit_without_severity;
mod meter_readings;
mod name_twice;
mod newest;
mod office_missing;
mod part_unused;
mod prediction_incomplete;
mod reading_off_prediction;
mod site_code_twice;
mod stage_missing;
mod title_missing;

use crate::rule::Rule;

pub(crate) static RULES: &[&Rule] = &[
    &name_twice::RULE,
    &office_missing::RULE,
    &site_code_twice::RULE,
    &title_missing::RULE,
    &elevation_missing::RULE,
    &stage_missing::RULE,
    &part_unused::RULE,
    &limit_without_severity::RULE,
    &contact_cannot_report_cut_pair::RULE,
    &prediction_incomplete::RULE,
    &reading_off_prediction::RULE,
    &decay_above_usage::RULE,
];
