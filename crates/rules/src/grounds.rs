//! Frame grounds: each chassis has its own, of sufficient size, straight to the office's ground bar.

mod bar_not_bonded;
mod ends;
mod frame_ground_missing;
mod ground_conductor_small;
mod ground_not_to_bar;
mod ground_run_unsized;
mod ground_shared_with_return;
mod ground_through_chassis;
mod principal_bar_missing;
mod principal_bar_twice;

use crate::rule::Rule;

pub(crate) static RULES: &[&Rule] = &[
    &frame_ground_missing::RULE,
    &ground_through_chassis::RULE,
    &ground_not_to_bar::RULE,
    &ground_shared_with_return::RULE,
    &ground_conductor_small::RULE,
    &ground_run_unsized::RULE,
    &bar_not_bonded::RULE,
    &principal_bar_missing::RULE,
    &principal_bar_twice::RULE,
];
