//! Leads and connectors in loops, and the loops of control outputs.

use drysheath_office::Networks;
use drysheath_prediction::{controls, loops};

use crate::planned::planned;

/// Worked example AWG-1, ohm/kft there and back at 20 °C, as ohm/m.
const LOOP_24: f64 = 51.337_512_861_228_75 / 304.8;
const LOOP_22: f64 = 32.286_479_214_346_96 / 304.8;
/// From 20 °C to 60 °C: IEC 60028, 0.00393 for each degree.
const AT_SIXTY: f64 = 1.0 + 0.003_93 * 40.0;

/// The resistance of the only loop.
#[track_caller]
fn resistance(statements: &str) -> f64 {
    let office = planned(statements);
    assert_eq!(office.problems.len(), 0, "{:?}", office.problems);
    let mut gaps = Vec::new();
    let loops = loops(&office, &Networks::new(&office), &mut gaps);
    assert_eq!(gaps, []);
    let [one] = loops.as_slice() else { panic!("{loops:?}") };
    one.resistance.ohms()
}

#[track_caller]
fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-6, "{found}, not {expected}");
}

const SENSOR: &str = "monitor m1 { sensors 8 }\nblock tb { pairs 25 }\npressure-sensor p1 { span 0 .. 10 psi }\n";

#[test]
fn a_lead_counts_by_its_length_or_its_resistance() {
    let wire = "wire p1 -> l1 pair 2 -> tb pair 1 -> m1 sensor 1\n";
    let by_length = format!("{SENSOR}lead l1 {{ pairs 4, gauge 22 awg, length 8 m }}\n{wire}");
    near(resistance(&by_length), 8.0 * LOOP_22 * AT_SIXTY);
    // A resistance that is stated holds at 20 °C, and takes the place of size and length.
    let stated = format!("{SENSOR}lead l1 {{ pairs 4, gauge 22 awg, length 8 m, loop 900 ohm }}\n{wire}");
    near(resistance(&stated), 900.0 * AT_SIXTY);
}

#[test]
fn connectors_carry_signals_through() {
    let blocks = "block j1 { pairs 30, connector plug }\nblock j2 { pairs 50, connector socket }\n";
    let whole = "lead l1 { pairs 4, gauge 22 awg, length 8 m, connector plug }\nblock j3 { pairs 4, connector socket }\n\
                 wire p1 -> l1 pair 3\nwire l1 -> j3\nwire j3 pair 3 -> m1 sensor 1\n";
    near(resistance(&format!("{SENSOR}{whole}")), 8.0 * LOOP_22 * AT_SIXTY);
    // The second connector of a block begins with its pair 26.
    let group = "wire p1 -> j1 pair 5 with 24 awg, 10 m\nwire j1 -> j2 connector 2\nwire j2 pair 30 -> m1 sensor 1\n";
    near(
        resistance(&format!("{SENSOR}{blocks}{group}")),
        10.0 * LOOP_24 * AT_SIXTY,
    );
}

#[test]
fn an_output_leaves_less_over_a_longer_loop() {
    let text = "monitor m1 { sensors 8, outputs 2, output-max 1 A, output-voltage 24 V }\nblock tb { pairs 25 }\n\
                dryer d1 { compressor piston, delivers 30 psi, capacity 90 scfh, control start { needs 20 V, current-max 0.2 A } }\n\
                wire m1 output 1 -> tb pair 3 -> d1 control start with 24 awg, 100 m\n";
    let office = planned(text);
    let mut gaps = Vec::new();
    let networks = Networks::new(&office);
    let controls = controls(&office, &networks, &mut gaps);
    let [one] = controls.as_slice() else {
        panic!("{controls:?}")
    };
    near(one.resistance.ohms(), 100.0 * LOOP_24 * AT_SIXTY);
    near(one.left().unwrap().volts(), 24.0 - 0.2 * 100.0 * LOOP_24 * AT_SIXTY);
    assert_eq!(one.name(&office), "start");
    assert_eq!(loops(&office, &networks, &mut gaps).len(), 0);
}
