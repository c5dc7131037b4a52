//! Prints the figures of this room as JSON, for the checks against outside libraries in `tests/outside`.

use drysheath_engineering::atmosphere::isa_pressure;
use drysheath_engineering::colour::{connector_pins, pair_colours};
use drysheath_engineering::loads::constant_power_current;
use drysheath_engineering::measure::{Current, Length, Power, Temperature, Voltage};
use drysheath_engineering::protection::{bonding_by_length, equipment_ground, required_rating, wire_limit};
use drysheath_engineering::trade_size::trade_size;
use drysheath_engineering::units::{Quantity, UNITS};
use drysheath_engineering::wire::{gauge_area, gauge_diameter, resistance};
use serde_json::{Value, json};

fn main() {
    let figures = json!({
        "units": units(),
        "pairs": (1..=1200).map(pair).collect::<Vec<_>>(),
        "wire": (-3..=40).map(wire).collect::<Vec<_>>(),
        "wire_limit": (-3..=40).map(limit).collect::<Vec<_>>(),
        "equipment_ground": (1..=6001).map(ground).collect::<Vec<_>>(),
        "bonding": (1..=400).map(bond).collect::<Vec<_>>(),
        "required_rating": (0..=40).map(rating).collect::<Vec<_>>(),
        "constant_power": (36..=60).map(load).collect::<Vec<_>>(),
        "isa": (0..=5000).step_by(250).map(isa).collect::<Vec<_>>(),
    });
    println!("{figures:#}");
}

fn units() -> Vec<Value> {
    let at = |value, unit| Quantity { value, unit }.si();
    UNITS
        .iter()
        .map(|unit| {
            json!({
                "name": unit.name,
                "aliases": unit.aliases,
                "dimension": unit.dimension.name(),
                "absolute": unit.absolute,
                "1": at(1.0, unit),
                "7.25": at(7.25, unit),
            })
        })
        .collect()
}

fn pair(pair: u32) -> Value {
    let colours = pair_colours(pair).map(|found| {
        json!({
            "tip": found.tip.name(),
            "ring": found.ring.name(),
            "group": found.binder.group,
            "binder": [found.binder.tip.name(), found.binder.ring.name()],
            "super_unit": found.binder.super_unit.name(),
        })
    });
    json!({ "pair": pair, "colours": colours, "pins": connector_pins(pair) })
}

fn wire(size: i8) -> Value {
    let area = gauge_area(f64::from(size));
    let kilofoot = Length::from_metres(304.8);
    let ohms = |celsius| resistance(area, kilofoot, Temperature::from_celsius(celsius)).ohms();
    json!({
        "awg": size,
        "name": trade_size(area),
        "diameter_m": gauge_diameter(f64::from(size)).metres(),
        "area_m2": area.square_metres(),
        "ohm_per_kft_20": ohms(20.0),
        "ohm_per_kft_75": ohms(75.0),
    })
}

fn limit(size: i8) -> Value {
    let limit = wire_limit(gauge_area(f64::from(size))).map(Current::amperes);
    json!({ "awg": size, "limit_a": limit })
}

fn ground(rating: u32) -> Value {
    let size = equipment_ground(Current::from_amperes(f64::from(rating))).map(trade_size);
    json!({ "rating_a": rating, "size": size })
}

fn bond(feet: u32) -> Value {
    let size = trade_size(bonding_by_length(Length::from_metres(f64::from(feet) * 0.304_8)));
    json!({ "length_ft": feet, "size": size })
}

fn rating(continuous: u32) -> Value {
    let amperes = |figure| Current::from_amperes(f64::from(figure));
    json!({
        "continuous_a": continuous,
        "rest_a": 3,
        "required_a": required_rating(amperes(continuous), amperes(3)).amperes(),
    })
}

fn load(volts: u32) -> Value {
    let current = constant_power_current(Power::from_watts(60.0), Voltage::from_volts(-f64::from(volts)));
    json!({ "power_w": 60, "voltage_v": -i64::from(volts), "current_a": current.map(Current::amperes) })
}

fn isa(metres: u32) -> Value {
    let pressure = isa_pressure(Length::from_metres(f64::from(metres)));
    json!({ "elevation_m": metres, "pressure_pa": pressure.pascals() })
}
