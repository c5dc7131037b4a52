//! Rules on regulators: present where needed, connected the right way round, set within what the supply provides and
//! the things downstream withstand, and without open outlets.

pub(crate) mod air_port_out_of_range;
pub(crate) mod dryer_above_rating;
pub(crate) mod manifold_port_open;
mod open_ports;
pub(crate) mod outlet_open;
pub(crate) mod regulator_after_sensor;
pub(crate) mod regulator_backwards;
pub(crate) mod regulator_flow_over_max;
pub(crate) mod regulator_inlet_over_max;
pub(crate) mod regulator_missing;
pub(crate) mod regulator_out_of_regulation;
pub(crate) mod regulator_set_above_rating;
pub(crate) mod regulator_set_above_supply;
pub(crate) mod regulators_same_set;
pub(crate) mod relief_held_open;
pub(crate) mod relief_misplaced;
pub(crate) mod relief_missing;
mod setting;
pub(crate) mod standby_too_low;
mod unregulated;
