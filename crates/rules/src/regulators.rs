//! Regulators: there is one where one is needed, the right way round, set to what its supply gives and what is behind it
//! stands, and no outlet of it is left open.

mod air_port_out_of_range;
mod dryer_above_rating;
mod manifold_port_open;
mod open_ports;
mod outlet_open;
mod plugged_outlet_used;
mod regulator_after_sensor;
mod regulator_backwards;
mod regulator_flow_over_max;
mod regulator_inlet_over_max;
mod regulator_missing;
mod regulator_out_of_regulation;
mod regulator_set_above_rating;
mod regulator_set_above_supply;
mod regulators_same_set;
mod relief_misplaced;
mod setting;
mod unregulated;

use crate::rule::Rule;

pub(crate) use setting::{
    is_blamed_for_pressure, is_reported, is_set_above_supply, relief_is_misplaced, weaker_than_delivery,
};

pub(crate) static RULES: &[&Rule] = &[
    &regulator_missing::RULE,
    &regulator_after_sensor::RULE,
    &regulator_backwards::RULE,
    &regulator_set_above_supply::RULE,
    &regulator_out_of_regulation::RULE,
    &regulator_flow_over_max::RULE,
    &regulator_inlet_over_max::RULE,
    &regulator_set_above_rating::RULE,
    &dryer_above_rating::RULE,
    &relief_misplaced::RULE,
    &regulators_same_set::RULE,
    &outlet_open::RULE,
    &plugged_outlet_used::RULE,
    &manifold_port_open::RULE,
    &air_port_out_of_range::RULE,
];
