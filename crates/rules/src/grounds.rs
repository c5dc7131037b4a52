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

use drysheath_engineering::measure::ConductorArea;
use drysheath_office::ThingId;

use crate::lint::Inspection;
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

/// The least size that is asked of a chassis' frame ground, where something asks for one: its maker, or the fuse that feeds
/// it.
pub fn frame_ground_size(inspection: &Inspection<'_>, chassis: ThingId) -> Option<ConductorArea> {
    ground_conductor_small::frame_ground_size(inspection, chassis)
}
