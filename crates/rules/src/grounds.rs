//! Frame grounds: each chassis has its own ground conductor, large enough, straight to the office's ground bar.

pub(crate) mod bar_not_bonded;
mod ends;
pub(crate) mod frame_ground_missing;
pub(crate) mod frame_grounded_twice;
pub(crate) mod ground_conductor_small;
pub(crate) mod ground_not_to_bar;
pub(crate) mod ground_run_unsized;
pub(crate) mod ground_shared_with_return;
pub(crate) mod ground_through_chassis;
pub(crate) mod principal_bar_missing;
pub(crate) mod principal_bar_twice;

use drysheath_engineering::measure::ConductorArea;
use drysheath_office::ThingId;

pub(crate) use ends::conductors_to_bars;

use crate::lint::Inspection;

/// Minimum size of the frame ground of a chassis, as its maker or the fuse that feeds it requires. `None` without such
/// a requirement.
pub fn frame_ground_size(inspection: &Inspection<'_>, chassis: ThingId) -> Option<ConductorArea> {
    ground_conductor_small::frame_ground_size(inspection, chassis)
}
