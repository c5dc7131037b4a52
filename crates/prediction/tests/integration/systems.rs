//! Connected air systems: which there are, what is used in them, what flows where, and why one of them fails. All figures
//! are by hand.

use drysheath_engineering::measure::{Flow, Temperature};
use drysheath_prediction::{Air, AirLocation, LinePoint, NetworkChange, Uncertainty};

use super::air::{Computed, DRYER, REGULATOR, TWO_SECTIONS, compute, from_scfh, near, psi, scfh, whole};

const FOOT: f64 = 0.304_8;

/// A second dryer with a cable of its own, which uses 1 scfh.
const OTHER: &str = "dryer d2 { compressor none, delivers 9 psi, capacity 100 scfh, dew-point -40 degC }
cable c2 { pairs 10, gauge 24 awg, section s { buried 1 kft, resistance 0.1 psi/scfh/kft, usage 1 scfh } }
air d2 -> c2\n";

fn fed(more: &str) -> String {
    format!("{DRYER}{REGULATOR}{TWO_SECTIONS}{more}")
}

impl Computed {
    fn on(&self, name: &str, feet: f64) -> AirLocation<'_> {
        AirLocation::OnLine(self.line(name), feet * FOOT)
    }

    fn at(&self, name: &str) -> AirLocation<'_> {
        AirLocation::Thing(self.id(name))
    }
}

#[test]
fn each_dryer_without_a_connection_makes_a_system() {
    assert_eq!(compute("").prediction.air.systems().len(), 0);
    assert_eq!(whole(&fed("air d1 -> r1 -> c1\n")).prediction.air.systems().len(), 1);
    let found = whole(&fed(&format!(
        "air d1 -> r1 -> c1\n{OTHER}cable c3 {{ pairs 10, gauge 24 awg, section s {{ buried 1 kft, resistance 0.1 psi/scfh/kft, usage 1 scfh }} }}\n"
    )));
    let air = &found.prediction.air;
    let systems: Vec<_> = air.systems().collect();
    assert_eq!(systems.len(), 2);
    let [first, second] = ["d1", "d2"].map(|dryer| air.system_at(&found.at(dryer)).unwrap());
    assert_eq!(systems, [first, second]);
    assert_eq!(air.system_at(&found.on("c1", 7_000.0)), Some(first));
    assert_eq!(air.system_at(&found.on("c2", 0.0)), Some(second));
    assert_eq!(air.system_at(&found.on("c3", 0.0)), None, "no air comes to it");
    let dryers = |system| air.dryers(system).collect::<Vec<_>>();
    assert_eq!([dryers(first), dryers(second)], [[found.id("d1")], [found.id("d2")]]);
    near(air.usage(first).map(scfh), 4.0);
    near(air.usage(second).map(scfh), 1.0);
    assert!(air.supply_tree(first).is_some() && air.supply_tree(second).is_some());
}

#[test]
fn flow_at_a_thing_and_along_a_cable() {
    let found = whole(&fed("air d1 -> r1 -> c1\n"));
    let flow = |location| found.prediction.air.flow(&location).map(scfh);
    near(flow(found.at("r1")), 4.0);
    assert_eq!(flow(found.at("d1")), None, "air does not pass through a dryer");
    // 2 scfh in each of two sections of 5 kft, used evenly.
    for (feet, expected) in [(0.0, 4.0), (2_500.0, 3.0), (5_000.0, 2.0), (7_500.0, 1.0)] {
        near(flow(found.on("c1", feet)), expected);
    }
    assert_eq!(flow(found.on("c1", 10_001.0)), None, "beyond the end");
}

#[test]
fn the_usage_of_a_section_is_divided_where_a_branch_leaves_it() {
    let cable = "cable c1 { pairs 50, gauge 24 awg
    section s1 { buried 10 kft, resistance 0.1 psi/scfh/kft, usage 4 scfh }
    branch b1 { from 2.5 kft, section sb { buried 1 kft, resistance 0.1 psi/scfh/kft, usage 1 scfh } }
}\n";
    let found = whole(&format!("{DRYER}{REGULATOR}{cable}air d1 -> r1 -> c1\n"));
    let flow = |feet| found.prediction.air.flow(&found.on("c1", feet)).map(scfh);
    near(flow(0.0), 5.0);
    near(flow(2_000.0), 4.2);
    near(flow(5_000.0), 2.0);
}

#[test]
fn a_failed_system_has_no_usage_and_names_the_place() {
    let text = fed(&format!("air d1 -> r1 -> c1\n{OTHER}")).replace("usage 2 scfh", "usage 200 scfh");
    let found = compute(&text);
    let air = &found.prediction.air;
    let failures: Vec<_> = air.failures().collect();
    let [failure] = failures.as_slice() else {
        panic!("{failures:?}")
    };
    assert_eq!(Some(failure.system), air.system_at(&found.at("r1")));
    assert_eq!(air.usage(failure.system), None);
    // The far end is farthest below a vacuum.
    let (line, metres) = failure.at.unwrap();
    assert_eq!(line.thing, found.id("c1"));
    near(Some(metres / FOOT), 10_000.0);
    // The other system does not fail with it.
    near(air.usage(air.system_at(&found.at("d2")).unwrap()).map(scfh), 1.0);
}

#[test]
fn a_failure_is_about_the_cable_whatever_hangs_on_its_end() {
    let end = [
        "air c1 -> v1 -> v2\n",
        "valve v1 { function shut-off }\n",
        "valve v2 { function shut-off }\n",
    ];
    // The order of the statements says which of the nodes at the end, all at the same pressure, the solver names.
    for order in [[0, 1, 2], [1, 2, 0], [2, 0, 1]] {
        let end: String = order.iter().map(|at| end[*at]).collect();
        let text = format!("{end}{}", fed("air d1 -> r1 -> c1\n")).replace("usage 2 scfh", "usage 200 scfh");
        let found = compute(&text);
        let failure = found.prediction.air.failures().next().unwrap();
        let (line, metres) = failure.at.unwrap();
        assert_eq!(line.thing, found.id("c1"));
        near(Some(metres / FOOT), 10_000.0);
    }
}

#[test]
fn nothing_fails_over_a_figure_that_cannot_be_meant() {
    let sound = fed("air d1 -> r1 -> c1 with 3/8 in tube, 1/4 in bore, 3 m\n");
    let found = whole(&sound);
    near(found.prediction.air.flow(&found.at("r1")).map(scfh), 4.0);
    for (meant, written) in [
        ("1/4 in bore", "0.001 mm bore"),
        ("delivers 30 psi", "delivers -20 psi"),
    ] {
        let found = compute(&sound.replace(meant, written));
        assert!(!found.office.problems.is_empty(), "{written}");
        assert_eq!(found.prediction.air.failures().count(), 0, "{written}");
        assert_eq!(found.prediction.air.pressure(&found.at("c1")), None, "{written}");
    }
}

#[test]
fn a_cable_that_is_fed_from_its_end_loses_along_what_lies_beyond_the_leak() {
    let found = whole(&fed("air d1 -> r1 -> c1 end\n"));
    let flow = found.prediction.air.flow(&found.on("c1", 2_500.0)).map(scfh);
    near(flow, -1.0);
    let (metres, highest) = found.prediction.air.highest(found.line("c1")).unwrap();
    near(Some(metres / FOOT), 10_000.0);
    near(Some(psi(highest)), 10.0);
}

#[test]
fn a_leak_in_one_system_changes_nothing_in_another() {
    let regulated = OTHER.replace(
        "air d2 -> c2",
        "regulator r2 { set 5 psi, differential 2 psi }\nair d2 -> r2 -> c2",
    );
    let found = whole(&fed(&format!("air d1 -> r1 -> c1\n{regulated}")));
    let air = &found.prediction.air;
    let point = LinePoint {
        thing: found.id("c1"),
        branch: None,
        metres: 0.0,
    };
    let changes = [NetworkChange::Leaks(point, from_scfh(3.0))];
    let state = air.in_state(&found.office, &found.networks, &changes).unwrap();
    let through = |air: &Air, regulator| air.through(found.id(regulator)).map(|state| scfh(state.flow));
    // At the beginning of the cable the pressure stays what the regulator keeps.
    near(through(&state, "r1"), 7.0);
    near(through(&state, "r2"), 1.0);
    near(through(air, "r2"), 1.0);
}

#[test]
fn warm_air_is_harder_to_push_through_a_tube() {
    let found = whole(&fed("air d1 -> r1 -> c1 with 3/8 in tube, 1/4 in bore, 100 m\n"));
    let air = &found.prediction.air;
    let spread = |coldest: f64, hottest: f64| {
        let uncertainty = Uncertainty {
            usage: 0.0,
            resistance: 0.0,
            temperatures: (Temperature::from_celsius(coldest), Temperature::from_celsius(hottest)),
        };
        let spread = air.pressure_spread(&found.at("c1"), &uncertainty).unwrap();
        spread.most.pascals() - spread.least.pascals()
    };
    assert!(spread(10.0, 10.0).abs() < 1e-6);
    assert!(spread(-20.0, 40.0) > 1.0, "{}", spread(-20.0, 40.0));
}

#[test]
fn nothing_flows_in_a_cable_that_uses_nothing() {
    let idle = fed("air d1 -> r1 -> c1\n").replace("usage 2 scfh", "usage 0 scfh");
    let found = whole(&idle);
    let flows = found.prediction.air.segments(found.line("c1"));
    let flows: Vec<f64> = flows
        .flat_map(|(_, _, state)| {
            let state = state.unwrap();
            [state.inflow, state.flow, state.outflow].map(Flow::cubic_metres_per_second)
        })
        .collect();
    assert!(!flows.is_empty() && flows.iter().all(|flow| *flow == 0.0), "{flows:?}");
}
