//! What is shown of places and of equipment beside figures worked by hand: profiles, minimum pressures, readings, decay tests
//! and bottles.

use drysheath_engineering::units::{Dimension, Quantity, find};
use drysheath_office::{Measured, Office};
use drysheath_prediction::{
    DeclaredBy, DefaultMinimums, ExpectedReading, Prediction, bottles, bottles_last, decay_test, minimum_pressure,
};

use crate::air::{Computed, DRYER, REGULATOR, from_scfh, near, psi, scfh, whole};

const NONE: DefaultMinimums = [None, None, None];

/// A cable of two sections, with a sensor at its end and one in the office.
const CABLE: &str = "cable c101 {\n\
    pairs 50, gauge 24 awg, rating 20 psi\n\
    section s1 { underground 1.2 km, resistance 0.09 psi/scfh/kft, usage 3 scfh, volume 7 ft3, minimum 5 psi }\n\
    section s2 { buried 2 km, resistance 0.14 psi/scfh/kft, usage 4 scfh, volume 5 ft3, minimum 3 psi }\n\
    place mh-4 { at 1.2 km }\n\
    }\n\
    pressure-sensor ps1 { at c101 3.2 km, span 0 .. 15 psi, step 0.1 psi, proof 30 psi }\n\
    air r1 -> c101\n";

fn cable() -> Computed {
    whole(&format!(
        "{DRYER}{REGULATOR}{CABLE}humidity-sensor h1 {{ span 0 .. 10 %rh, step 0.1 %rh, proof 30 psi }}\n\
         manifold mf {{ ports 4, rating 30 psi }}\n\
         air d1 -> r1 -> mf\nair mf port 1 -> h1\n"
    ))
}

fn in_psi(value: f64) -> Quantity {
    Quantity {
        value,
        unit: find("psi").unwrap(),
    }
}

fn expected(found: &Computed, sensor: &str, dimension: Dimension) -> Option<ExpectedReading> {
    let id = found.id(sensor);
    found
        .prediction
        .expected_reading(&found.office, &found.networks, id, dimension)
}

#[test]
fn a_profile_has_each_place_once() {
    let found = cable();
    let line = found.line("c101");
    let profile = found.prediction.profile(&found.office, &found.networks, &NONE, line);
    let places: Vec<(f64, String)> = profile
        .iter()
        .map(|point| (point.metres, point.what(&found.office)))
        .collect();
    let wanted = [(0.0, "start"), (1200.0, "end of s1, mh-4"), (3200.0, "end of s2, ps1")];
    assert_eq!(places, wanted.map(|(metres, what)| (metres, what.to_owned())));
    // Where two sections meet, the higher minimum holds.
    let minimums: Vec<f64> = profile
        .iter()
        .map(|point| psi(point.minimum.unwrap()).round())
        .collect();
    assert_eq!(minimums, [5.0, 5.0, 3.0]);
    let flows: Vec<f64> = profile.iter().map(|point| scfh(point.flow.unwrap())).collect();
    for (flow, expected) in flows.into_iter().zip([7.0, 4.0, 0.0]) {
        assert!((flow - expected).abs() < 1e-6, "{flow}");
    }
    for point in &profile {
        near(
            point.margin().map(psi),
            psi(point.pressure.unwrap()) - psi(point.minimum.unwrap()),
        );
    }
    let [.., last] = profile.as_slice() else {
        panic!("no places")
    };
    near(last.pressure.map(psi), found.along("c101", 3200.0 / 0.304_8).unwrap());
}

#[test]
fn the_nearest_declaration_of_a_minimum_holds() {
    let office = "office elm-hollow { elevation 0 m, air-minimum { buried 2 psi } }\n";
    let cable = "cable c1 { pairs 10, gauge 24 awg\n\
        section s1 { underground 1 km, minimum 5 psi }\n\
        section s2 { buried 1 km }\n\
        section s3 { aerial 1 km }\n\
        section s4 { underground 1 km } }\n";
    let office = drysheath_fixture::lowered(&format!("{office}{cable}"));
    let networks = drysheath_office::Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    let [route] = prediction.air.lines() else {
        panic!("one cable")
    };
    let practice = [None, Some(in_psi(1.5)), Some(in_psi(1.0))];
    let minimums: Vec<_> = route
        .sections
        .iter()
        .map(|section| {
            minimum_pressure(&office, &practice, route, section)
                .map(|minimum| (minimum.quantity.value, minimum.by, minimum.place.is_some()))
        })
        .collect();
    assert_eq!(
        minimums,
        [
            Some((5.0, DeclaredBy::Itself, true)),
            Some((2.0, DeclaredBy::Office, true)),
            Some((1.0, DeclaredBy::Settings, false)),
            None
        ]
    );
}

#[test]
fn each_sensor_has_its_own_figure() {
    let found = cable();
    let pressure = expected(&found, "ps1", Dimension::Pressure).unwrap();
    near(found.along("c101", 3200.0 / 0.304_8), pressure.figure() / 6_894.757_293);
    // Magnus over water (WMO-No. 8): air of -40 °C at 30 psig, at 10 psig has e = 6.112 exp(17.62 t/(243.12 + t)) hPa
    // times 24.6959/44.6959; that is 0.595 99 % of saturation at 60 °F.
    let humidity = expected(&found, "h1", Dimension::Humidity).unwrap();
    near(Some(humidity.figure() * 100.0), 0.595_991_4);
    // The same air is saturated at -45.5573 °C.
    let dew_point = expected(&found, "h1", Dimension::Temperature).unwrap();
    near(Some(dew_point.figure() - 273.15), -45.557_304);
    assert!(expected(&found, "ps1", Dimension::Voltage).is_none());
}

fn decay_of(office: &Office) -> &drysheath_office::Decay {
    let [reading] = office.readings.as_slice() else {
        panic!("one reading")
    };
    match &reading.measured {
        Measured::Decay(decay) => decay,
        other => panic!("{other:?}"),
    }
}

const TEST: &str = "reading 2026-05-12 c101 decay 9.4 psi .. 9.1 psi over 12 min at 61 degF .. 60 degF\n";

#[test]
fn a_decay_test_counts_what_left_the_cable() {
    let found = crate::air::compute(&format!("{CABLE}{REGULATOR}{TEST}"));
    let (office, air) = (&found.office, &found.prediction.air);
    let test = decay_test(office, air, found.id("c101"), decay_of(office)).unwrap();
    // Ideal gas: 12 ft³ (24.095 95 psia/520.67 °R − 23.795 95/519.67) 519.67 °R/14.695 95 psia in 0.2 h, and with the
    // pressures half a step of the gauge (0.05 psi) nearer together.
    near(Some(scfh(test.lost)), 1.035_882_5);
    near(Some(scfh(test.least)), 0.627_998_8);
    // Without a pressure in service the declared usage is taken as it is.
    near(Some(scfh(test.declared)), 7.0);
}

#[test]
fn declared_usage_is_restated_for_the_pressure_of_the_test() {
    let found = whole(&format!("{DRYER}{REGULATOR}{CABLE}air d1 -> r1\n{TEST}"));
    let (office, air) = (&found.office, &found.prediction.air);
    let test = decay_test(office, air, found.id("c101"), decay_of(office)).unwrap();
    // Through small leaks the flow goes with p² − pₐ²: at a mean of 9.25 psig over what it is in the middle of each section.
    let outwards = |gauge: f64| (gauge + 14.695_949).powi(2) - 14.695_949_f64.powi(2);
    let restated = |usage: f64, metres: f64| {
        let service = found.along("c101", metres / 0.304_8).unwrap();
        usage * outwards(9.25) / outwards(service)
    };
    near(Some(scfh(test.declared)), restated(3.0, 600.0) + restated(4.0, 2200.0));
}

#[test]
fn a_section_without_volume_leaves_no_decay_test() {
    let found = crate::air::compute(&format!("{}{REGULATOR}{TEST}", CABLE.replace("volume 5 ft3, ", "")));
    let (office, air) = (&found.office, &found.prediction.air);
    assert!(decay_test(office, air, found.id("c101"), decay_of(office)).is_none());
    let missing: Vec<&str> = found.prediction.missing.iter().map(|gap| &*gap.what).collect();
    assert!(missing.contains(&"the volume of section `s2` of `c101`"), "{missing:?}");
}

#[test]
fn bottles_last_as_long_as_what_they_hold() {
    let found = crate::air::compute(
        "bottle n1 { holds 230 scf, bottles 3, delivers 10 psi }\nbottle n2 { holds 230 scf, delivers 10 psi }\n",
    );
    let thing = |name| found.office.thing(found.id(name));
    assert_eq!((bottles(thing("n1")), bottles(thing("n2"))), (3, 1));
    // 690 scf at 11.5 scfh are 60 h, 230 scf are 20 h.
    let hours = |name| bottles_last(thing(name), from_scfh(11.5)).map(|time| time.seconds() / 3600.0);
    near(hours("n1"), 60.0);
    near(hours("n2"), 20.0);
    assert!(bottles_last(thing("n1"), from_scfh(0.0)).is_none());
}
