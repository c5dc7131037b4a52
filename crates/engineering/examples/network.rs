//! Solves air networks: reads a JSON list of networks from standard input and prints a JSON list of solutions, for the checks
//! against outside libraries in `tests/outside`. All figures are in SI, pressures in Pa above the surrounding air unless the
//! name says otherwise, flows in m³/s as [`Flow`] counts them.
//!
//! ```json
//! [{ "ambient": 101325.0, "kelvins": 288.15, "nodes": 2,
//!    "supplies": [{ "at": 0, "delivers": 69000.0 }],
//!    "held": [{ "at": 1, "gauge": 13800.0 }],
//!    "demands": [{ "at": 1, "flow": 1e-4 }],
//!    "leaks": [{ "at": 1, "hole": 0.00025, "coefficient": 0.62 }],
//!    "links": [{ "from": 0, "to": 1, "kind": "tube", "bore": 0.0095, "length": 1500.0, "roughness": 0.0, "usage": 0.0 }] }]
//! ```
//!
//! The other kinds of links are `section` (`resistance`, `length`, `usage`), `regulator` (`set`, `droop`, `differential`),
//! `check-valve` and `fitting`.

use std::io::Read as _;

use drysheath_engineering::air::{Reference, Regime};
use drysheath_engineering::measure::{
    AbsolutePressure, Flow, FlowResistance, Length, PneumaticResistance, Pressure, Temperature,
};
use drysheath_engineering::network::{
    Conditions, Leak, Link, Network, NodeId, Regulator, RegulatorState, Section, Supply, Tube, ValveState, solve,
};
use serde_json::{Value, json};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut text = String::new();
    std::io::stdin().read_to_string(&mut text)?;
    let plans: Vec<Value> = serde_json::from_str(&text)?;
    let solutions = plans.iter().map(answer).collect::<Result<Vec<_>, _>>()?;
    println!("{}", serde_json::to_string(&solutions)?);
    Ok(())
}

fn number(of: &Value, key: &str) -> f64 {
    of.get(key).and_then(Value::as_f64).unwrap_or_default()
}

fn list<'a>(of: &'a Value, key: &str) -> impl Iterator<Item = &'a Value> {
    of.get(key).and_then(Value::as_array).into_iter().flatten()
}

fn flow(figure: f64) -> Flow {
    Flow::from_cubic_metres_per_second(figure)
}

fn answer(plan: &Value) -> Result<Value, String> {
    let conditions = Conditions {
        ambient: AbsolutePressure::from_pascals(number(plan, "ambient")),
        temperature: Temperature::from_kelvins(number(plan, "kelvins")),
    };
    let mut network = Network::new();
    let count = plan.get("nodes").and_then(Value::as_u64).ok_or("how many nodes?")?;
    let nodes: Vec<NodeId> = (0..count).map(|_| network.node()).collect();
    let place = |of: &Value, key: &str| {
        let index = of
            .get(key)
            .and_then(Value::as_u64)
            .and_then(|index| usize::try_from(index).ok());
        index
            .and_then(|index| nodes.get(index).copied())
            .ok_or_else(|| format!("no node: {key} of {of}"))
    };
    let mut supplies = Vec::new();
    for item in list(plan, "supplies") {
        let supply = Supply {
            delivers: Pressure::from_pascals(number(item, "delivers")),
            capacity: None,
        };
        supplies.push(network.supply(place(item, "at")?, supply));
    }
    for item in list(plan, "held") {
        network.hold(place(item, "at")?, Pressure::from_pascals(number(item, "gauge")));
    }
    for item in list(plan, "demands") {
        network.demand(place(item, "at")?, flow(number(item, "flow")));
    }
    let mut leaks = Vec::new();
    for item in list(plan, "leaks") {
        let hole = Length::from_metres(number(item, "hole"));
        let leak = Leak::Orifice {
            hole,
            coefficient: number(item, "coefficient"),
        };
        leaks.push(network.leak(place(item, "at")?, leak));
    }
    let mut links = Vec::new();
    for item in list(plan, "links") {
        links.push(network.link(place(item, "from")?, place(item, "to")?, link(item)?));
    }

    let solution = match solve(&network, &conditions) {
        Ok(solution) => solution,
        Err(why) => return Ok(json!({ "why": why.to_string() })),
    };
    let gauge = |node: &NodeId| solution.gauge(*node).map(Pressure::pascals);
    let links = links.iter().map(|link| {
        solution.link(*link).map(|state| {
            json!({
                "flow": state.flow.cubic_metres_per_second(),
                "inflow": state.inflow.cubic_metres_per_second(),
                "reynolds": state.reynolds,
                "regime": state.regime.map(Regime::name),
                "friction": state.friction,
                "resistance": state.resistance.map(PneumaticResistance::pascal_seconds_per_m4),
                "regulator": state.regulator.map(|state| match state {
                    RegulatorState::Regulating => "regulating",
                    RegulatorState::OutOfRegulation => "out of regulation",
                    RegulatorState::ClosedByBackPressure => "closed",
                }),
                "valve": state.valve.map(|state| match state {
                    ValveState::Open => "open",
                    ValveState::Closed => "closed",
                }),
            })
        })
    });
    let leaks = leaks
        .iter()
        .map(|leak| solution.leak(*leak).map(|leak| leak.flow.cubic_metres_per_second()));
    let supplies = supplies.iter().map(|supply| {
        solution
            .supply(*supply)
            .map(|supply| supply.flow.cubic_metres_per_second())
    });
    Ok(json!({
        "gauge": nodes.iter().map(gauge).collect::<Vec<_>>(),
        "links": links.collect::<Vec<_>>(),
        "leaks": leaks.collect::<Vec<_>>(),
        "supplies": supplies.collect::<Vec<_>>(),
        "residual": solution.residual(),
    }))
}

fn link(item: &Value) -> Result<Link, String> {
    let length = Length::from_metres(number(item, "length"));
    let usage = flow(number(item, "usage"));
    match item.get("kind").and_then(Value::as_str) {
        Some("tube") => Ok(Link::Tube(Tube {
            bore: Length::from_metres(number(item, "bore")),
            length,
            roughness: Length::from_metres(number(item, "roughness")),
            usage,
        })),
        Some("section") => Ok(Link::Section(Section {
            resistance: PneumaticResistance::from_pascal_seconds_per_m4(number(item, "resistance")),
            reference: Reference::default(),
            length,
            usage,
        })),
        Some("regulator") => Ok(Link::Regulator(Regulator {
            set: Pressure::from_pascals(number(item, "set")),
            droop: FlowResistance::from_pascal_seconds_per_m3(number(item, "droop")),
            differential: Pressure::from_pascals(number(item, "differential")),
            rated: None,
        })),
        Some("check-valve") => Ok(Link::CheckValve),
        Some("fitting") => Ok(Link::Fitting),
        _ => Err(format!("no kind of link: {item}")),
    }
}
