//! The air network in states other than the normal one.

use drysheath_engineering::measure::{Length, Pressure};
use drysheath_engineering::network::Hole;
use drysheath_engineering::units::find;
use drysheath_fixture::lowered;
use drysheath_office::Networks;
use drysheath_prediction::{Air, AirLocation, LinePoint, NetworkChange, Prediction, SectionOf, StateError};

use super::air::{Computed, compute, from_scfh, psi, scfh, whole};

/// The example office of the landed state, whose figures after a change an independent program gave.
const OFFICE: &str = "
dryer d1 { compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }
regulator r1 { set 10 psi, differential 5 psi }
flow-sensor f1 { span 0 .. 15 scfh, step 0.2 scfh, proof 60 psi }
manifold mf { ports 4 }
air d1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
air mf port 1 -> c101 with 3/8 in tube, 1/4 in bore, 3 m
cable c101 {
    pairs   50
    gauge   24 awg
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
}
";

fn at_elevation(metres: f64) -> Computed {
    let office = lowered(&format!(
        "office elm-hollow {{ elevation {metres} m, coldest -30 degC }}\n{OFFICE}"
    ));
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    Computed {
        office,
        networks,
        prediction,
    }
}

fn from_psi(figure: f64) -> Pressure {
    Pressure::from_pascals(find("psi").unwrap().to_si(figure))
}

impl Computed {
    fn state(&self, changes: &[NetworkChange]) -> Air {
        let air = &self.prediction.air;
        air.in_state(&self.office, &self.networks, changes).unwrap()
    }

    fn point(&self, cable: &str, metres: f64) -> LinePoint {
        LinePoint {
            thing: self.id(cable),
            branch: None,
            metres,
        }
    }
}

/// Pressure along the first cable of a state, psi.
fn along(air: &Air, metres: f64) -> f64 {
    psi(air.pressure_along(&air.lines()[0], metres).expect("nothing is known"))
}

fn through(air: &Air, found: &Computed, thing: &str) -> f64 {
    scfh(air.through(found.id(thing)).expect("nothing is known").flow)
}

#[test]
fn a_higher_set_pressure_loses_more() {
    // An independent program, whose closed forms hold to 1e-8, for this office with r1 at 12 psi: 8.84 scfh, and 9.15 psi at the far
    // end. With a usage that stays what it was it would be 7 scfh and 9.77 psi.
    let found = at_elevation(310.0);
    let state = found.state(&[NetworkChange::Set(found.id("r1"), from_psi(12.0))]);
    let (flow, far) = (through(&state, &found, "f1"), along(&state, 3200.0));
    assert!((flow - 8.84).abs() < 0.01, "{flow} scfh");
    assert!((far - 9.15).abs() < 0.01, "{far} psi");
    assert!((through(&found.prediction.air, &found, "f1") - 7.0).abs() < 1e-6);
}

#[test]
fn without_changes_it_is_the_normal_state() {
    let found = whole(&format!(
        "{OFFICE}air-pipe ap1 {{ length 800 m, bore 0.5 in, usage 2 scfh }}\nair mf port 2 -> ap1\n"
    ));
    let state = found.state(&[]);
    let normal = &found.prediction.air;
    for (one, two) in normal.lines().iter().zip(state.lines()) {
        for metres in [0.0, 333.0, 800.0] {
            let pressures = [(normal, one), (&state, two)].map(|(air, line)| air.pressure_along(line, metres).unwrap());
            let [before, after] = pressures.map(psi);
            assert!(
                (before - after).abs() < 1e-8,
                "{before} psi, then {after} psi at {metres} m"
            );
            let flows = [(normal, one), (&state, two)].map(|(air, line)| air.flow_along(line, metres).unwrap());
            let [before, after] = flows.map(scfh);
            assert!(
                (before - after).abs() < 1e-7,
                "{before} scfh, then {after} scfh at {metres} m"
            );
        }
    }
    assert_eq!(state.at_capacity().count(), 0);
}

#[test]
fn when_the_dryer_stops_all_pressure_leaves() {
    let found = whole(OFFICE);
    let state = found.state(&[NetworkChange::Stops(found.id("d1"))]);
    assert!(along(&state, 3200.0).abs() < 1e-6);
    assert!(through(&state, &found, "f1").abs() < 1e-6);
    assert_eq!(state.supply(found.id("d1")).map(|_| ()), None);
}

#[test]
fn a_break_is_open_to_the_air() {
    let found = whole(OFFICE);
    let state = found.state(&[NetworkChange::Breaks(found.point("c101", 1200.0))]);
    assert!(along(&state, 1200.0).abs() < 1e-3);
    // Beyond the break nothing is fed.
    assert!(along(&state, 3200.0).abs() < 1e-3);
    let flow = through(&state, &found, "f1");
    // By hand, without leakage before the break: (24.7² − 14.7²)/(2·14.7·0.09·3.937) = 37.8 scfh, and the tube takes a little.
    assert!((36.0..44.0).contains(&flow), "{flow} scfh");
}

#[test]
fn a_leak_loses_what_the_pressure_left_to_it_lets_out() {
    let found = whole(OFFICE);
    let point = found.point("c101", 2100.0);
    let state = found.state(&[NetworkChange::Leaks(point, from_scfh(10.0))]);
    // What leaves at the place is what arrives less what goes on.
    let line = &state.lines()[0];
    let lost =
        scfh(state.flow_along(line, 2100.0 - 1e-3).unwrap()) - scfh(state.flow_along(line, 2100.0 + 1e-3).unwrap());
    let squares = |gauge: f64| (gauge + 14.695_948_776_f64).powi(2) - 14.695_948_776_f64.powi(2);
    let normal = along(&found.prediction.air, 2100.0);
    let expected = 10.0 * squares(along(&state, 2100.0)) / squares(normal);
    assert!((lost - expected).abs() < 2e-3, "{lost} scfh, {expected} expected");
    assert!(lost < 8.0);
    assert!(along(&state, 3200.0) < along(&found.prediction.air, 3200.0) - 1.0);
}

#[test]
fn a_round_hole_is_an_orifice() {
    let found = whole(OFFICE);
    // The flow of the isentropic nozzle (textbook, from memory): 0.62 A p0 sqrt(2 gamma/((gamma - 1) R T)) psi, at 15 degC and standard density.
    let nozzle = |gauge: f64, bore: f64| {
        let (gamma, gas, standard) = (1.4_f64, 287.052_87, 101_325.0);
        let ratio = standard / (standard + gauge * 6_894.757_293);
        let ratio = ratio.max((2.0 / (gamma + 1.0)).powf(gamma / (gamma - 1.0)));
        let psi = (ratio.powf(2.0 / gamma) - ratio.powf((gamma + 1.0) / gamma)).sqrt();
        let speed = (2.0 * gamma / ((gamma - 1.0) * gas * 288.15)).sqrt();
        let area = std::f64::consts::PI / 4.0 * bore * bore;
        let before = standard + gauge * 6_894.757_293;
        0.62 * area * before * speed * psi / (standard / (gas * 288.15)) * 3600.0 / 0.028_316_846_592
    };
    for bore in [0.2e-3, 0.5e-3, 1e-3, 3e-3] {
        let point = found.point("c101", 2100.0);
        let state = found.state(&[NetworkChange::Hole(point, Length::from_metres(bore))]);
        let line = &state.lines()[0];
        let flow = |metres: f64| scfh(state.flow_along(line, metres).unwrap());
        let lost = flow(2100.0 - 1e-3) - flow(2100.0 + 1e-3);
        let expected = nozzle(along(&state, 2100.0), bore);
        assert!(
            (lost - expected).abs() < 1e-3 * expected + 2e-3,
            "{lost} scfh by {bore} m, {expected} expected"
        );
    }
}

#[test]
fn closed_and_opened() {
    let found = whole(&format!(
        "{OFFICE}valve v1 {{ function shut-off, stands open }}\nair mf port 2 -> v1 -> c2\n\
         cable c2 {{ pairs 10, gauge 24 awg, section s {{ buried 1 km, resistance 0.1 psi/scfh/kft, usage 2 scfh }} }}\n"
    ));
    let closed = found.state(&[NetworkChange::Closes(found.id("v1"))]);
    let of_c2 = |air: &Air| {
        let line = air.lines().iter().find(|line| line.thing == found.id("c2")).unwrap();
        psi(air.pressure_along(line, 1000.0).unwrap())
    };
    assert!(of_c2(&closed).abs() < 1e-6);
    // The regulator keeps its outlet, and without the flow of c2 less is lost in the tubes.
    assert!(along(&closed, 3200.0) > along(&found.prediction.air, 3200.0));
    // Wide open without a loss: 30 psi go into the cable.
    let opened = found.state(&[NetworkChange::Opens(found.id("r1"))]);
    assert!(along(&opened, 0.0) > 25.0);
    assert!(through(&opened, &found, "f1") > 20.0);
}

#[test]
fn a_section_with_more_usage_or_resistance() {
    let found = whole(OFFICE);
    let section = SectionOf {
        thing: found.id("c101"),
        branch: None,
        section: 1,
    };
    let more = found.state(&[NetworkChange::Usage(section, from_scfh(8.0))]);
    let normal = along(&found.prediction.air, 3200.0);
    assert!(along(&more, 3200.0) < normal - 0.3);
    let flow = through(&more, &found, "f1");
    assert!((7.5..11.0).contains(&flow), "{flow} scfh");
    // The same as the file would say if it said so, but that this section had its normal pressure at 4 scfh.
    let resistance = find("psi/scfh/kft").unwrap();
    let twice = drysheath_engineering::measure::PneumaticResistance::from_pascal_seconds_per_m4(resistance.to_si(0.28));
    let narrow = found.state(&[NetworkChange::Resistance(section, twice)]);
    assert!(along(&narrow, 3200.0) < normal - 0.2);
    assert!(through(&narrow, &found, "f1") < 7.0);
}

#[test]
fn a_source_gives_no_more_than_its_capacity() {
    let found = whole(&OFFICE.replace("capacity 100 scfh", "capacity 20 scfh"));
    let state = found.state(&[NetworkChange::Breaks(found.point("c101", 1200.0))]);
    let (source, supply) = state.at_capacity().next().unwrap();
    assert_eq!(source, found.id("d1"));
    let (given, asked) = (scfh(supply.flow), scfh(supply.asked.unwrap()));
    let capacity = scfh(drysheath_prediction::capacity(&found.office, source).unwrap().flow);
    assert!((given / capacity - 1.0).abs() < 1e-4, "{given} scfh of {capacity}");
    assert!((36.0..44.0).contains(&asked), "{asked} scfh");
    assert!((through(&state, &found, "f1") / capacity - 1.0).abs() < 1e-4);
    // By hand, with nearly all of it lost at the break: 14.7² + 2·14.7·0.09·3.937·20 is 20.6².
    let near = along(&state, 0.0);
    assert!((4.0..6.2).contains(&near), "{near} psi");
    // Before the regulator there is at least as much, and at most its differential more.
    assert!(state.inlet(found.id("r1")).is_none());
    assert!(state.inlet(found.id("mf")).is_some());
}

#[test]
fn no_state_starts_from_pressures_that_a_source_cannot_keep() {
    let found = whole(&OFFICE.replace("capacity 100 scfh", "capacity 5 scfh"));
    let air = &found.prediction.air;
    let changes = [NetworkChange::Breaks(found.point("c101", 1200.0))];
    let why = air.in_state(&found.office, &found.networks, &changes).err();
    assert_eq!(why, Some(StateError::NormalOverdrawn(found.id("d1"))));
}

#[test]
fn where_the_normal_pressure_is_not_known_nothing_is() {
    // The closed valve keeps all air from c2, so that its usage tells nothing of how tight it is.
    let found = whole(&format!(
        "{OFFICE}valve v1 {{ function shut-off, stands closed }}\nair mf port 2 -> v1 -> c2\n\
         cable c2 {{ pairs 10, gauge 24 awg, section s {{ buried 1 km, resistance 0.1 psi/scfh/kft, usage 2 scfh }} }}\n"
    ));
    let air = &found.prediction.air;
    let opened = air.in_state(&found.office, &found.networks, &[NetworkChange::Opens(found.id("v1"))]);
    assert_eq!(opened.err(), Some(StateError::NormalUnknown(found.id("c2"))));
    let stopped = found.state(&[NetworkChange::Stops(found.id("d1"))]);
    assert!(stopped.pressure(&AirLocation::Thing(found.id("mf"))).is_some());
}

#[test]
fn behind_a_resistance_that_is_missing_no_hole_is_known() {
    // Nothing flows in s2, so that its resistance does not matter; with a hole behind it, it does.
    let without = "section s2 { buried 2.0 km, usage 0 scfh }";
    let found = compute(&OFFICE.replace(
        "section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }",
        without,
    ));
    let air = &found.prediction.air;
    assert!(along(air, 3200.0) > 8.0);
    let in_state = |changes: &[NetworkChange]| air.in_state(&found.office, &found.networks, changes).err();
    let point = found.point("c101", 3200.0);
    for change in [
        NetworkChange::Leaks(point, from_scfh(1.0)),
        NetworkChange::Breaks(point),
    ] {
        let Some(StateError::Missing(missing)) = in_state(&[change]) else {
            panic!("{change:?} is computed");
        };
        assert_eq!(missing[0].what, "the resistance of section `s2` of `c101`");
    }
    let before = found.point("c101", 1000.0);
    assert_eq!(in_state(&[NetworkChange::Leaks(before, from_scfh(1.0))]), None);

    let mut detection = air.detection(&found.office, &found.networks).unwrap();
    assert!(detection.is_known(0));
    let mut drawn = |metres: f64| detection.effect(0, metres, Hole::Open).map(|effect| scfh(effect.lost));
    assert!(drawn(600.0).is_some_and(|lost| lost > 10.0));
    assert_eq!([drawn(1900.0), drawn(3200.0)], [None, None]);
}
