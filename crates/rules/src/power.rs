//! Battery and fuses: each load has its battery, of the right voltage and over the right fuse.

mod battery_unfiltered;
mod feeds;
mod fuse_above_wire;
mod fuse_below_load;
mod fuse_missing;
mod fuse_position_out_of_range;
mod fuse_position_twice;
mod load_unfed;
mod nominal_wrong;
mod panel_overloaded;
mod panel_unfed;
mod polarity_wrong;
mod voltage_below_window;
mod working_without_nominal;

use crate::rule::Rule;

pub(crate) static RULES: &[&Rule] = &[
    &load_unfed::RULE,
    &panel_unfed::RULE,
    &polarity_wrong::RULE,
    &nominal_wrong::RULE,
    &working_without_nominal::RULE,
    &battery_unfiltered::RULE,
    &fuse_missing::RULE,
    &fuse_below_load::RULE,
    &fuse_above_wire::RULE,
    &fuse_position_twice::RULE,
    &fuse_position_out_of_range::RULE,
    &panel_overloaded::RULE,
    &voltage_below_window::RULE,
];
