//! Statements that cannot be read: nothing that may depend on them is computed or reported as missing.

use drysheath_fixture::lowered;
use drysheath_office::Networks;
use drysheath_prediction::Prediction;

const OFFICE: &str = "
office elm-hollow { elevation 310 m, coldest -25 degC, stage planned }
dryer d1 { compressor none, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }
regulator r1 { set 10 psi, differential 5 psi, droop 0.01 psi/scfh }
flow-sensor f1 { span 0 .. 15 scfh }
valve v1 { function shut-off, stands open }
manifold mf { ports 4 }
air d1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
air mf port 1 -> v1 -> c1 with 3/8 in tube, 1/4 in bore, 3 m
cable c1 {
    pairs   50
    section s1 { underground 1.2 km, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 2 scfh }
}
";

/// Whether the flow through the sensor, the pressure at the manifold and that at the cable's start are known.
fn known(text: &str) -> [bool; 3] {
    let office = lowered(text);
    let prediction = Prediction::new(&office, &Networks::new(&office));
    assert_eq!(prediction.missing, [], "{text}");
    let thing = |name: &str| office.things().find(|(id, _)| office.name(*id) == name).unwrap().0;
    let air = &prediction.air;
    let flow = air.through(thing("f1"));
    [
        flow.is_some(),
        air.inlet(thing("mf")).is_some(),
        air.inlet(thing("c1")).is_some(),
    ]
}

#[track_caller]
fn damaged(from: &str, to: &str, expected: [bool; 3]) {
    assert!(OFFICE.contains(from), "{from}");
    assert_eq!(known(&OFFICE.replace(from, to)), expected, "{to}");
}

#[test]
fn whole_text_is_known() {
    assert_eq!(known(OFFICE), [true; 3]);
}

#[test]
fn what_surrounds_the_office() {
    damaged("elevation 310 m", "elevation 310 310 m", [false; 3]);
    damaged("elevation 310 m", "elevatio 310 m", [false; 3]);
    damaged("coldest -25 degC", "coldest -25 -25 degC", [false; 3]);
}

#[test]
fn a_cable_may_have_lost_a_section() {
    damaged("resistance 0.09", "resistance 0.09 0.09", [false; 3]);
    damaged("section s2", "sectio s2", [false; 3]);
}

#[test]
fn a_regulator_may_have_lost_its_droop() {
    damaged("droop 0.01", "dro 0.01", [false; 3]);
}

#[test]
fn a_valve_may_stand_closed() {
    damaged("stands open", "stand open", [false; 3]);
}

#[test]
fn a_tube_may_be_of_any_size() {
    damaged(
        "3/8 in tube, 1/4 in bore, 3 m",
        "3/8 in, 1/4 in bore, 3 m",
        [true, true, false],
    );
}

#[test]
fn a_section_without_a_length_still_uses_its_air() {
    let text = OFFICE.replace("buried 2.0 km, ", "");
    let office = lowered(&text);
    let prediction = Prediction::new(&office, &Networks::new(&office));
    let sensor = office.things().find(|(id, _)| office.name(*id) == "f1").unwrap().0;
    let flow = prediction.air.through(sensor).unwrap().flow.cubic_metres_per_second();
    let scfh = drysheath_engineering::units::find("scfh").unwrap().from_si(flow);
    assert!((scfh - 5.0).abs() < 1e-6, "{scfh}");
}
