//! Rules on battery and fuses: each load has a battery of the right voltage, over the right fuse.

use drysheath_office::kinds::{Key, MonitorSupply};
use drysheath_office::{Fields, Thing};

pub(crate) mod battery_unfiltered;
mod conductors;
pub(crate) mod feeds;
pub(crate) mod fuse_above_supply;
pub(crate) mod fuse_above_wire;
pub(crate) mod fuse_below_load;
pub(crate) mod fuse_missing;
pub(crate) mod fuse_not_said_spare;
pub(crate) mod fuse_position_out_of_range;
pub(crate) mod fuse_position_twice;
pub(crate) mod fuse_unsized;
pub(crate) mod load_unfed;
pub(crate) mod nominal_wrong;
pub(crate) mod panel_fed_twice;
pub(crate) mod panel_overloaded;
pub(crate) mod panel_unfed;
pub(crate) mod panel_unprotected;
pub(crate) mod polarity_wrong;
pub(crate) mod supply_stated_twice;
pub(crate) mod supply_unrecorded;
pub(crate) mod voltage_above_window;
pub(crate) mod voltage_below_window;
pub(crate) mod voltage_range_doubtful;
pub(crate) mod wire_limit_doubtful;
pub(crate) mod wire_not_checked;
pub(crate) mod working_without_nominal;

/// Whether a monitor states that it runs from the mains.
pub(crate) fn is_on_mains(monitor: &Thing) -> bool {
    monitor.choice(Key::Supply) == Some(MonitorSupply::Mains)
}
