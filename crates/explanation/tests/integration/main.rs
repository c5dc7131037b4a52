//! What figures are computed from and what they are compared with, beside figures worked by hand.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by a panic"
)]

use drysheath_engineering::units::{Dimension, find};
use drysheath_explanation::{AirSource, Explainer, SignalReading, least_voltage, voltage_margin};
use drysheath_fixture::{lowered, thing};
use drysheath_office::{Networks, Office, UnitPreferences};
use drysheath_prediction::{AirLocation, Prediction};

/// A dryer, a regulator and a cable of two sections with a sensor at its end; a battery and a monitor.
const OFFICE: &str = "office elm-hollow { elevation 0 m, coldest -30 degC, hottest-wire 20 degC }\n\
    dryer d1 { compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }\n\
    regulator r1 { set 10 psi, differential 5 psi, droop 0.1 psi/scfh }\n\
    cable c101 {\n\
    pairs 50, gauge 24 awg, rating 20 psi\n\
    section s1 { underground 1.2 km, resistance 0.09 psi/scfh/kft, usage 3 scfh, minimum 5 psi }\n\
    section s2 { buried 2 km, resistance 0.14 psi/scfh/kft, usage 4 scfh, minimum 3 psi }\n\
    }\n\
    pressure-sensor ps1 { at c101 3.2 km, span 5 .. 15 psi, step 0.1 psi, proof 30 psi, limit low 6.7 psi minor }\n\
    air d1 -> r1 -> c101\n\
    battery main { filtered yes, nominal -48 V, working -43 V .. -54 V }\n\
    fuse-panel pdf { positions 1 .. 4, current-max 30 A }\n\
    monitor m1 { sensors 8, draws 40 W, link lan \"192.0.2.11\", window -57 V .. -40.5 V }\n\
    power main -> pdf with 30 A, 6 awg, 5 m\n\
    power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m\n";

struct Computed {
    office: Office,
    networks: Networks,
    prediction: Prediction,
}

fn computed() -> Computed {
    let office = lowered(OFFICE);
    assert!(office.problems.is_empty(), "{:?}", office.problems);
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    Computed {
        office,
        networks,
        prediction,
    }
}

impl Computed {
    fn explainer(&self) -> Explainer<'_> {
        Explainer {
            office: &self.office,
            networks: &self.networks,
            prediction: &self.prediction,
            minimums: [None; 3],
        }
    }

    /// The one reading of the sensor on the cable, and the pressure that it should read, psi.
    fn reading(&self) -> (SignalReading<'_>, f64) {
        let mut readings = self.explainer().readings(thing(&self.office, "ps1"));
        assert_eq!(readings.len(), 1);
        let reading = readings.remove(0);
        let expected = find("psi").unwrap().from_si(reading.expected.unwrap());
        (reading, expected)
    }
}

#[track_caller]
fn near(found: Option<f64>, expected: f64) {
    let found = found.unwrap();
    assert!(
        (found - expected).abs() < 1e-6 * expected.abs().max(1.0),
        "{found}, expected {expected}"
    );
}

#[test]
fn a_reading_has_its_part_of_the_span_and_its_margins() {
    let found = computed();
    let (reading, expected) = found.reading();
    // At 7 scfh the regulator holds 10 psi less 0.7 psi, and the cable takes its part of that.
    assert!((6.0..7.5).contains(&expected), "{expected}");
    near(reading.span_part(), (expected - 5.0) / 10.0);
    let limit = &reading.limits[0];
    near(
        reading.margin(limit).map(|margin| find("psi").unwrap().from_si(margin)),
        expected - 6.7,
    );
    let units = UnitPreferences::of(&found.office);
    let shown = reading.shown_margin(limit, &units).unwrap();
    assert_eq!(shown.unit.name, "psi");
    // The sensor reports by 0.1 psi: the margin is that of the figures that are shown.
    let reads = reading.shown(&units).unwrap().value;
    assert!((reads * 10.0 - (expected * 10.0).round()).abs() < 1e-9, "{reads}");
    assert!((shown.value - (reads - 6.7)).abs() < 1e-9, "{}", shown.value);
    assert_eq!((reading.dimension, reading.word()), (Dimension::Pressure, None));
}

#[test]
fn a_thing_that_is_no_sensor_reads_nothing() {
    let found = computed();
    assert_eq!(found.explainer().readings(thing(&found.office, "r1")).len(), 0);
}

#[test]
fn a_load_needs_the_end_of_its_window_that_is_nearer_to_zero() {
    let found = computed();
    let [feed] = found.prediction.feeds.as_slice() else {
        panic!("one load")
    };
    let least = least_voltage(&found.office, feed).unwrap();
    assert!((least.si() + 40.5).abs() < 1e-9, "{}", least.si());
    let receiving_end = feed.receiving_end.as_ref().unwrap().voltage.volts();
    assert!((-43.0..-42.5).contains(&receiving_end), "{receiving_end}");
    near(voltage_margin(&found.office, feed), -receiving_end - 40.5);
}

#[test]
fn a_dryer_runs_for_what_is_used() {
    let found = computed();
    let facts = found.explainer().dryer(thing(&found.office, "d1"));
    // 7 scfh of 100 scfh, which hold at sea level and at the standard conditions.
    near(facts.duty(), 0.07);
    assert!(!facts.backed_up);
    let saturation = facts.saturation().unwrap().temperature.kelvins() - 273.15;
    // -40 °C over water is -36.48 °C over ice (Magnus, WMO-No. 8; ice from memory).
    assert!((saturation + 36.48).abs() < 0.05, "{saturation}");
}

#[test]
fn usage_is_listed_by_section() {
    let found = computed();
    let usage = found
        .explainer()
        .usage(&AirLocation::Thing(thing(&found.office, "r1")))
        .unwrap();
    near(
        Some(find("scfh").unwrap().from_si(usage.total.cubic_metres_per_second())),
        7.0,
    );
    let shares: Vec<_> = usage
        .shares
        .iter()
        .map(|share| (share.section.unwrap(), share.usage.unwrap().quantity.value))
        .collect();
    assert_eq!(shares, [("s1", 3.0), ("s2", 4.0)]);
}

#[test]
fn each_section_has_its_margin() {
    let found = computed();
    let routes = found.prediction.air.lines();
    let explainer = found.explainer();
    let margins: Vec<f64> = explainer
        .sections(&routes[0])
        .map(|section| find("psi").unwrap().from_si(section.margin().unwrap()))
        .collect();
    let (_, end) = found.reading();
    near(Some(margins[1]), end - 3.0);
    assert!(margins[0] > 2.0 && margins[0] < 4.3, "{margins:?}");
}

#[test]
fn a_path_begins_at_its_dryer() {
    let found = computed();
    let place = AirLocation::OnLine(&found.prediction.air.lines()[0], 3200.0);
    let path = found.explainer().air_path(&place).unwrap();
    assert!(matches!(path.source, AirSource::Dryer(..)));
    assert!(
        found
            .explainer()
            .air_path(&AirLocation::Thing(thing(&found.office, "m1")))
            .is_none()
    );
}
