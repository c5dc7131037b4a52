//! Prints the figures of this room as JSON, for the checks against outside libraries in `tests/outside`.
#![allow(clippy::disallowed_macros, reason = "this program prints")]

use drysheath_engineering::atmosphere::isa_pressure;
use drysheath_engineering::colour::{connector_pins, pair_colours};
use drysheath_engineering::deadband::least_deadband;
use drysheath_engineering::decay::{ClosedAir, LaminarDecay, decay_flow};
use drysheath_engineering::feeds::{area_for_drop, receiving_end};
use drysheath_engineering::leak::{Beyond, PressureReading, locate};
use drysheath_engineering::loads::constant_power_current;
use drysheath_engineering::loops::{LimitedBy, LoopSupply, limit as least_limit};
use drysheath_engineering::measure::{
    AbsolutePressure, ConductorArea, Current, Density, Flow, FlowResistance, Length, Power, Pressure, Resistance,
    Temperature, Time, Voltage, Volume,
};
use drysheath_engineering::moisture::{Surface, saturation_pressure};
use drysheath_engineering::network::{Conditions, Leak, Network, solve};
use drysheath_engineering::protection::{WireLimit, bonding_by_length, equipment_ground, required_rating, wire_limit};
use drysheath_engineering::standard::{NamedStandardConditions, STANDARDS, mass_flow};
use drysheath_engineering::trade_size::{TradeSize, trade_size};
use drysheath_engineering::units::{Quantity, UNITS, find};
use drysheath_engineering::water::head;
use drysheath_engineering::wire::{WireSegment, gauge_area, gauge_diameter, loop_resistance, resistance};
use serde_json::{Value, json};

/// The larger American sizes that are compared, one of them beyond the table.
const KCMIL: [u16; 9] = [250, 300, 350, 400, 500, 600, 750, 1000, 1250];
/// The metric sizes that are compared, the first and the last of them beyond the table, mm².
const METRIC: [f64; 15] = [
    0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0, 150.0,
];

fn main() {
    let figures = json!({
        "units": units(),
        "pairs": (1..=1200).map(pair).collect::<Vec<_>>(),
        "wire": (-3..=40).map(wire).collect::<Vec<_>>(),
        "wire_limit": (-3..=40).map(|size| limit(TradeSize::Gauge(size), false)).collect::<Vec<_>>(),
        "wire_limit_kcmil": KCMIL.into_iter().map(|size| limit(TradeSize::Kcmil(size), false)).collect::<Vec<_>>(),
        "wire_limit_metric": METRIC.into_iter().map(|size| limit(TradeSize::SquareMillimetres(size), true)).collect::<Vec<_>>(),
        "equipment_ground": (1..=6001).map(ground).collect::<Vec<_>>(),
        "bonding": (1..=400).map(bond).collect::<Vec<_>>(),
        "required_rating": (0..=40).map(rating).collect::<Vec<_>>(),
        "constant_power": (36..=60).map(load).collect::<Vec<_>>(),
        "standards": STANDARDS.iter().map(standard).collect::<Vec<_>>(),
        "saturation": (-100..=100).step_by(5).map(saturation).collect::<Vec<_>>(),
        "holes": grid(&[0.5, 2.0, 10.0, 13.0, 13.3, 20.0, 60.0], &[0.003, 0.01, 0.05], hole),
        "heads": grid(&[0.0, 1.0, 12.0, 100.0], &[1000.0, 999.017, 1025.0], head_at),
        "feeds": grid(&[0.0, 20.0, 60.0, 400.0], &[0.0, 0.5, 1.091, 4.0, 7.36], feed),
        "feed_areas": grid(&[0.25, 2.0, 10.0], &[20.0, 40.0], feed_area),
        "loops": grid(&[-40.0, 20.0, 60.0], &[0.0, 6.0, 30.0], pair_loop),
        "loop_limits": grid(&[500.0, 1069.0, 5000.0], &[9.0, 24.0, 48.0], loop_limit),
        "decay_flows": grid(&[55.0, 60.0, 70.0, 90.0], &[9.0, 9.5, 10.5], closed_volume),
        "decays": grid(&[40.0, 60.0, 100.0], &[-5.0, 2.0, 10.0, 30.0], laminar_decay),
        "leaks": grid(&[4.5, 6.35, 9.0], &[8.0, 20.0, 40.0], leak),
        "deadbands": grid(&[0.0, 0.02, 0.05], &[0.01, 0.1], deadband),
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

fn limit(size: TradeSize, is_metric: bool) -> Value {
    let limit = match wire_limit(size.area(), is_metric).0 {
        WireLimit::AtMost(limit) => Some(limit.amperes()),
        WireLimit::LessThan(_) | WireLimit::NotCovered => None,
    };
    json!({ "size": size.to_string(), "limit_a": limit })
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

/// One row for each pair of figures.
fn grid(first: &[f64], second: &[f64], row: impl Fn(f64, f64) -> Value) -> Vec<Value> {
    let row = &row;
    first
        .iter()
        .flat_map(|&a| second.iter().map(move |&b| row(a, b)))
        .collect()
}

/// The SI figure of a number in a unit, not a number if there is no such unit.
fn si(value: f64, unit: &str) -> f64 {
    find(unit).map_or(f64::NAN, |unit| unit.to_si(value))
}

fn sea_level(psig: f64) -> AbsolutePressure {
    isa_pressure(Length::from_metres(0.0)) + Pressure::from_pascals(si(psig, "psi"))
}

fn standard(known: &NamedStandardConditions) -> Value {
    let written = Flow::from_cubic_metres_per_second(si(1.0, "scfh"));
    json!({
        "name": known.name,
        "pressure_pa": known.standard.pressure().pascals(),
        "temperature_k": known.standard.temperature().kelvins(),
        "scfh_kg_per_s": mass_flow(known.standard.flow(written)).kilograms_per_second(),
    })
}

fn saturation(celsius: i32) -> Value {
    let pascals = |surface| saturation_pressure(Temperature::from_celsius(f64::from(celsius)), surface).pascals();
    json!({ "celsius": celsius, "water_pa": pascals(Surface::Water), "ice_pa": pascals(Surface::Ice) })
}

/// What a hole lets out of a place that is held at a pressure.
fn hole(psig: f64, inches: f64) -> Value {
    let conditions = Conditions {
        ambient: sea_level(0.0),
        temperature: Temperature::from_celsius(15.0),
    };
    let gauge = Pressure::from_pascals(si(psig, "psi"));
    let (hole, coefficient) = (Length::from_metres(si(inches, "in")), 0.62);
    let mut network = Network::new();
    let node = network.node();
    network.hold(node, gauge);
    let leak = network.leak(node, Leak::Orifice { hole, coefficient });
    let flow = solve(&network, &conditions)
        .ok()
        .and_then(|solution| Some(solution.leak(leak)?.flow));
    json!({
        "gauge_pa": gauge.pascals(),
        "kelvins": conditions.temperature.kelvins(),
        "hole_m": hole.metres(),
        "coefficient": coefficient,
        "flow_m3_per_s": flow.map(Flow::cubic_metres_per_second),
    })
}

fn head_at(feet: f64, density: f64) -> Value {
    let water = Density::from_kilograms_per_cubic_metre(density);
    let pressure = head(Length::from_metres(si(feet, "ft")), water).pascals();
    json!({ "depth_ft": feet, "density": density, "pressure_pa": pressure })
}

fn feed(watts: f64, ohms: f64) -> Value {
    let found = receiving_end(
        Voltage::from_volts(-42.0),
        Power::from_watts(watts),
        Resistance::from_ohms(ohms),
    );
    let found = found.ok();
    json!({
        "source_v": -42,
        "load_w": watts,
        "ohms": ohms,
        "voltage_v": found.map(|found| found.voltage.volts()),
        "current_a": found.map(|found| found.current.amperes()),
    })
}

fn feed_area(amperes: f64, celsius: f64) -> Value {
    let length = Length::from_metres(si(180.0, "ft"));
    let (current, drop) = (Current::from_amperes(amperes), Voltage::from_volts(0.5));
    let area = area_for_drop(current, length, drop, Temperature::from_celsius(celsius));
    json!({
        "current_a": amperes,
        "length_ft": 180,
        "drop_v": 0.5,
        "celsius": celsius,
        "area_m2": area.map(ConductorArea::square_metres),
    })
}

fn pair_loop(celsius: f64, kilofeet: f64) -> Value {
    let stretch = |gauge, kilofeet| WireSegment {
        area: gauge_area(gauge),
        length: Length::from_metres(si(kilofeet, "kft")),
    };
    let line = [stretch(26.0, 1.5), stretch(24.0, kilofeet), stretch(19.0, 3.25)];
    json!({
        "celsius": celsius,
        "kft": { "26": 1.5, "24": kilofeet, "19": 3.25 },
        "ohms": loop_resistance(line, Temperature::from_celsius(celsius)).ohms(),
    })
}

fn loop_limit(device: f64, volts: f64) -> Value {
    let supply = LoopSupply {
        supply: Voltage::from_volts(-volts),
        device: Voltage::from_volts(-10.0),
        current: Current::from_amperes(0.02),
    };
    let found = least_limit(Some(Resistance::from_ohms(device)), Some(supply))
        .ok()
        .flatten();
    json!({
        "device_ohms": device,
        "supply_v": volts,
        "device_v": 10,
        "current_a": 0.02,
        "ohms": found.map(|limit| limit.resistance.ohms()),
        "by_supply": found.map(|limit| limit.by == LimitedBy::Supply),
    })
}

fn closed_volume(fahrenheit: f64, psig: f64) -> Value {
    let air = |psig, fahrenheit| ClosedAir {
        pressure: sea_level(psig),
        temperature: Temperature::from_kelvins(si(fahrenheit, "degF")),
    };
    let volume = Volume::from_cubic_metres(si(2.0, "ft3"));
    let (before, after) = (air(10.0, 70.0), air(psig, fahrenheit));
    let flow = decay_flow(volume, before, after, Time::from_seconds(720.0));
    let state = |air: ClosedAir| json!({ "pa": air.pressure.pascals(), "kelvins": air.temperature.kelvins() });
    json!({
        "volume_m3": volume.cubic_metres(),
        "seconds": 720,
        "before": state(before),
        "after": state(after),
        "flow_m3_per_s": flow.map(Flow::cubic_metres_per_second),
    })
}

fn laminar_decay(fahrenheit: f64, psig: f64) -> Value {
    let volume = Volume::from_cubic_metres(si(2.0, "ft3"));
    let leak = FlowResistance::from_pascal_seconds_per_m3(si(6.0, "psi/scfh"));
    let air = isa_pressure(Length::from_metres(si(5280.0, "ft")));
    let temperature = Temperature::from_kelvins(si(fahrenheit, "degF"));
    let decay = LaminarDecay::new(volume, leak, air, temperature, Pressure::from_pascals(si(psig, "psi")));
    let after = |seconds: f64| decay.map(|decay| decay.after(Time::from_seconds(seconds)).pascals());
    json!({
        "volume_m3": volume.cubic_metres(),
        "leak": leak.pascal_seconds_per_m3(),
        "air_pa": air.pascals(),
        "kelvins": temperature.kelvins(),
        "start_pa": si(psig, "psi"),
        "gauge_pa": { "0": after(0.0), "900": after(900.0), "3600": after(3600.0), "14400": after(14_400.0) },
    })
}

/// A cable from 9.5 psig at 0 kft, whose squared pressure falls by `fall` psi² per kft up to the leak and not beyond.
fn leak(at: f64, fall: f64) -> Value {
    let start = sea_level(9.5).pascals().powi(2);
    let readings = [0.0, 4.0, 10.0].map(|kilofeet: f64| {
        let square = start - fall * si(1.0, "psi").powi(2) * kilofeet.min(at);
        let pressure = AbsolutePressure::from_pascals(square.sqrt());
        PressureReading::with_step(
            Length::from_metres(si(kilofeet, "kft")),
            pressure,
            Pressure::from_pascals(si(0.1, "psi")),
        )
    });
    let [first, second, third] = readings;
    let found = locate([first, second], Beyond::DeadEnd(third));
    json!({
        "leak_kft": at,
        "kft": [0, 4, 10],
        "pa": readings.map(|reading| reading.pressure.pascals()),
        "deviation_pa": first.deviation.pascals(),
        "found_m": found.map(|place| place.distance.metres()).ok(),
        "deviation_m": found.map(|place| place.deviation.metres()).ok(),
        "why_not": found.err().map(|error| error.to_string()),
    })
}

fn deadband(deviation: f64, step: f64) -> Value {
    let pascals = Pressure::from_pascals;
    json!({ "deviation": deviation, "step": step, "deadband": least_deadband(pascals(deviation), pascals(step)).pascals() })
}
