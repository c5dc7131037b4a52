//! Which places of the air network lie beyond others, and what is known of leaks at the edges of sections.

use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_engineering::network::Hole;
use drysheath_engineering::units::find;
use drysheath_fixture::lowered;
use drysheath_office::{Networks, Office};
use drysheath_prediction::{AirLocation, Prediction};

const OFFICE: &str = "
office elm-hollow { elevation 310 m, coldest -25 degC, stage planned }
dryer d1 { compressor none, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }
regulator r1 { set 10 psi, differential 5 psi }
manifold mf { ports 4 }
air d1 -> r1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
air mf port 1 -> c1 with 3/8 in tube, 1/4 in bore, 3 m
cable c1 {
    pairs   50
    section s1 { underground 1.2 km, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 2 scfh }
    branch  b1 { from 0.7 km, section s1 { aerial 0.9 km, resistance 0.2 psi/scfh/kft, usage 1 scfh } }
    place   mh { at 1.9 km }
}
";

fn office(more: &str) -> Office {
    let text = format!("{OFFICE}{more}");
    let office = lowered(&text);
    assert_eq!(office.problems.len(), 0, "{:?}", office.problems);
    office
}

fn scfh(figure: f64) -> Flow {
    Flow::from_cubic_metres_per_second(find("scfh").unwrap().to_si(figure))
}

fn psi(pressure: Pressure) -> f64 {
    find("psi").unwrap().from_si(pressure.pascals())
}

#[test]
fn a_place_is_beyond_those_that_its_air_passes() {
    let office = office("");
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    let air = &prediction.air;
    let tree = air.supply_tree(air.systems().next().unwrap()).unwrap();
    let [trunk, branch] = air.lines() else {
        panic!("{:?}", air.lines())
    };
    let on = |line, metres| tree.place(&AirLocation::OnLine(line, metres)).unwrap();
    for (one, other, expected) in [
        (on(trunk, 900.0), on(trunk, 800.0), true),
        (on(trunk, 800.0), on(trunk, 900.0), false),
        (on(trunk, 900.0), on(trunk, 900.0), true),
        (on(trunk, 3000.0), on(trunk, 300.0), true),
        (on(trunk, 300.0), on(trunk, 3000.0), false),
        (on(branch, 0.0), on(trunk, 300.0), true),
        (on(branch, 500.0), on(trunk, 300.0), true),
        (on(branch, 500.0), on(trunk, 900.0), false),
        (on(trunk, 900.0), on(branch, 500.0), false),
    ] {
        assert_eq!(tree.is_beyond(&one, &other), expected, "{one:?} {other:?}");
    }
}

#[test]
fn of_a_line_that_is_fed_from_both_ends_nothing_is_known_beforehand() {
    let office = office("air mf port 2 -> c1 place mh with 3/8 in tube, 1/4 in bore, 900 m\n");
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    let air = &prediction.air;
    assert!(air.pressure_along(&air.lines()[0], 1200.0).is_some());
    assert!(air.supply_tree(air.systems().next().unwrap()).is_none());
}

#[test]
fn a_cable_without_resistance_in_which_nothing_flows_has_no_estimate() {
    let office = office("cable c2 { pairs 10, section s { buried 1 km, usage 0 scfh } }\nair mf port 2 -> c2\n");
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    let air = &prediction.air;
    assert!(air.pressure_along(&air.lines()[2], 500.0).is_some());
    assert!(air.supply_tree(air.systems().next().unwrap()).is_none());
}

#[test]
fn a_leak_at_the_very_end_of_a_section_is_in_it() {
    // 6.5 kft in two sections whose lengths in metres do not add up without rounding.
    let office = office(
        "cable c2 { pairs 50, section s1 { underground 2.4 kft, resistance 0.09 psi/scfh/kft, usage 1 scfh }, section s2 { buried 4.1 kft, resistance 0.1 psi/scfh/kft, usage 1 scfh } }
pressure-sensor ps { at c2 6.5 kft, span 0 .. 15 psi }
air mf port 2 -> c2 with 3/8 in tube, 1/4 in bore, 3 m
",
    );
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    let sensor = office.things().find(|(id, _)| office.name(*id) == "ps").unwrap().0;
    let air = &prediction.air;
    let place = air.location_of(&office, &networks, sensor).unwrap();
    let mut detection = air.detection(&office, &networks).unwrap();
    let left = detection.pressure_with_hole(&office, &networks, sensor, Hole::Passing(scfh(1.0)));
    assert!(psi(left.unwrap()) < psi(air.pressure(&place).unwrap()) - 0.1);
}
