//! Pressures beside an additional leak: the estimate compared with solving the network again.

use drysheath_engineering::measure::{Flow, Pressure};
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
fn the_estimate_is_never_below_what_a_leak_leaves_and_never_far_above() {
    let office = office("");
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    assert_eq!(prediction.missing, []);
    let air = &prediction.air;
    assert_eq!(air.routes().len(), 2);
    for line in air.routes() {
        for metres in [0.0, 350.0, 700.0, 900.0, 1200.0, 1900.0, 3200.0] {
            if metres > line.length().unwrap() {
                continue;
            }
            let most = psi(air.leaking_at_most(&networks, line, metres, scfh(2.0)).unwrap());
            let leaking = air.leaking(&AirLocation::OnRoute(line, metres), scfh(2.0)).unwrap();
            let left = psi(leaking.pressure().unwrap());
            // A branch leaves out what the leak takes away on the trunk.
            let room = if line.branch.is_some() { 0.5 } else { 0.05 };
            assert!(left <= most + 1e-9 && most < left + room, "{metres}: {left} {most}");
        }
    }
}

#[test]
fn of_a_line_that_is_fed_from_both_ends_nothing_is_known_beforehand() {
    let office = office("air mf port 2 -> c1 place mh with 3/8 in tube, 1/4 in bore, 900 m\n");
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    let trunk = &prediction.air.routes()[0];
    assert!(prediction.air.pressure_along(trunk, 1200.0).is_some());
    assert!(
        prediction
            .air
            .leaking_at_most(&networks, trunk, 1200.0, scfh(2.0))
            .is_none()
    );
    // A branch has one way in whatever its cable has, and yet the cable's ways are all that is looked at.
    let branch = &prediction.air.routes()[1];
    assert!(
        prediction
            .air
            .leaking_at_most(&networks, branch, 900.0, scfh(2.0))
            .is_none()
    );
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
    let place = prediction.air.location_of(&office, &networks, sensor).unwrap();
    let leaking = prediction.air.leaking(&place, scfh(1.0)).unwrap();
    assert!(leaking.pressure().unwrap() < prediction.air.pressure(&place).unwrap());
}
