//! Pressures and flows of an office beside figures worked by hand, and what stays known where something is missing.

use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_engineering::network::RegulatorState;
use drysheath_engineering::units::find;
use drysheath_fixture::{lowered, thing};
use drysheath_office::{Networks, Office, ThingId};
use drysheath_prediction::{AirLocation, Line, NeededFor, PathSource, Prediction};

const OFFICE: &str = "office elm-hollow { elevation 0 m, coldest -30 degC }\n";
pub(super) const DRYER: &str =
    "dryer d1 { compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }\n";
pub(super) const REGULATOR: &str = "regulator r1 { set 10 psi, differential 5 psi }\n";

pub(super) struct Computed {
    pub(super) office: Office,
    pub(super) networks: Networks,
    pub(super) prediction: Prediction,
}

pub(super) fn compute(statements: &str) -> Computed {
    compute_text(&format!("{OFFICE}{statements}"))
}

/// The prediction of a whole text.
pub(super) fn compute_text(text: &str) -> Computed {
    let office = lowered(text);
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    Computed {
        office,
        networks,
        prediction,
    }
}

/// An office in which nothing is missing and nothing is wrong.
#[track_caller]
pub(super) fn whole(statements: &str) -> Computed {
    let computed = compute(statements);
    assert!(computed.office.problems.is_empty(), "{:?}", computed.office.problems);
    assert_eq!(computed.prediction.missing, []);
    assert_eq!(computed.prediction.air.failures().count(), 0);
    computed
}

pub(super) fn psi(pressure: Pressure) -> f64 {
    find("psi").unwrap().from_si(pressure.pascals())
}

pub(super) fn scfh(flow: Flow) -> f64 {
    find("scfh").unwrap().from_si(flow.cubic_metres_per_second())
}

pub(super) fn from_scfh(figure: f64) -> Flow {
    Flow::from_cubic_metres_per_second(find("scfh").unwrap().to_si(figure))
}

impl Computed {
    pub(super) fn id(&self, name: &str) -> ThingId {
        thing(&self.office, name)
    }

    pub(super) fn line(&self, name: &str) -> &Line {
        let id = self.id(name);
        let lines = self.prediction.air.lines();
        lines
            .iter()
            .find(|line| line.thing == id && line.branch.is_none())
            .unwrap()
    }

    pub(super) fn along(&self, name: &str, feet: f64) -> Option<f64> {
        let pressure = self.prediction.air.pressure_along(self.line(name), feet * 0.304_8);
        pressure.map(psi)
    }

    fn inlet(&self, name: &str) -> Option<f64> {
        self.prediction.air.inlet(self.id(name)).map(psi)
    }

    fn flow(&self, name: &str) -> Option<f64> {
        Some(scfh(self.prediction.air.through(self.id(name))?.flow))
    }

    fn missing(&self) -> Vec<&str> {
        self.prediction.missing.iter().map(|gap| gap.what.as_str()).collect()
    }
}

#[track_caller]
pub(super) fn near(found: Option<f64>, expected: f64) {
    let found = found.expect("nothing is known");
    assert!(
        (found - expected).abs() < 1e-4 * expected.abs().max(1.0),
        "{found}, expected {expected}"
    );
}

#[test]
fn a_single_tube() {
    // Worked example AIR-1 (Hagen-Poiseuille and ideal gas, derived): 3/8 in, 5000 ft, 12 scfh, from 10 psig at sea level
    // to 8.872 961 psig; tolerance 0.1 % of the drop. The usage hangs on a stub that has no loss worth computing.
    let found = whole(
        "dryer d1 { compressor none, delivers 10 psi, capacity 100 scfh, dew-point -40 degC }\n\
         air-pipe ap1 { length 5000 ft, bore 0.375 in }\n\
         air-pipe stub { length 1 ft, bore 2 in, usage 12 scfh }\n\
         air d1 -> ap1 -> stub\n",
    );
    near(found.along("ap1", 5000.0), 8.872_961);
    let fall = 10.0 - found.along("ap1", 5000.0).unwrap();
    assert!((fall / 1.127_038_687 - 1.0).abs() < 1e-3, "{fall} psi");
}

#[test]
fn usage_along_a_section_is_exact() {
    // By hand: k 0.2 psi/scfh/kft over 10 kft with 4 scfh used evenly and nothing behind, so Q = 2 scfh half way:
    // p² falls by 2·14.695 949·0.2·10·2 psi². And at half the length x = L/2: by 3/4 of that (a parabola).
    let ambient = 14.695_948_776;
    let found = whole(&format!(
        "{DRYER}{REGULATOR}cable c1 {{ pairs 10, gauge 24 awg, section s {{ buried 10 kft, resistance 0.2 psi/scfh/kft, usage 4 scfh }} }}\n\
         air d1 -> r1 -> c1\n"
    ));
    let squares = 2.0 * ambient * 0.2 * 10.0 * 2.0;
    let at = |part: f64| ((10.0_f64 + ambient).powi(2) - part * squares).sqrt() - ambient;
    near(found.along("c1", 10_000.0), at(1.0));
    near(found.along("c1", 5_000.0), at(0.75));
    near(found.flow("r1"), 4.0);
}

pub(super) const TWO_SECTIONS: &str = "cable c1 { pairs 10, gauge 24 awg
    section s1 { buried 5 kft, resistance 0.2 psi/scfh/kft, usage 2 scfh }
    section s2 { buried 5 kft, resistance 0.2 psi/scfh/kft, usage 2 scfh }
}\n";

#[test]
fn halving_a_section_moves_nothing() {
    let one = whole(&format!(
        "{DRYER}{REGULATOR}cable c1 {{ pairs 10, gauge 24 awg, section s {{ buried 10 kft, resistance 0.2 psi/scfh/kft, usage 4 scfh }} }}\n\
         air d1 -> r1 -> c1\n"
    ));
    let two = whole(&format!("{DRYER}{REGULATOR}{TWO_SECTIONS}air d1 -> r1 -> c1\n"));
    for feet in [0.0, 1_000.0, 5_000.0, 7_777.0, 10_000.0] {
        near(one.along("c1", feet), two.along("c1", feet).unwrap());
    }
}

#[test]
fn what_lies_before_a_missing_resistance_is_known() {
    let text = format!("{DRYER}{REGULATOR}{TWO_SECTIONS}air d1 -> r1 -> c1\n");
    let sound = whole(&text);
    let lacking = compute(&text.replacen(
        "section s2 { buried 5 kft, resistance 0.2 psi/scfh/kft,",
        "section s2 { buried 5 kft,",
        1,
    ));
    assert_eq!(lacking.missing(), ["the resistance of section `s2` of `c1`"]);
    near(lacking.along("c1", 5_000.0), sound.along("c1", 5_000.0).unwrap());
    near(lacking.flow("r1"), 4.0);
    assert_eq!(lacking.along("c1", 6_000.0), None);
    let line = lacking.line("c1");
    assert!(lacking.prediction.air.lowest(line, &line.sections[0]).is_some());
    assert!(lacking.prediction.air.lowest(line, &line.sections[1]).is_none());
}

#[test]
fn a_missing_usage_leaves_nothing_known_of_what_hangs_together() {
    let text = format!("{DRYER}{REGULATOR}{TWO_SECTIONS}air d1 -> r1 -> c1\n");
    let lacking = compute(&text.replacen(", usage 2 scfh", "", 1));
    assert_eq!(lacking.missing(), ["the usage of section `s1` of `c1`"]);
    assert_eq!(lacking.inlet("c1"), None);
    assert_eq!(lacking.flow("r1"), None);
}

#[test]
fn another_way_round_what_is_missing_leaves_the_flows_unknown() {
    let ring = "manifold mf { ports 2 }\nair d1 -> r1 -> mf\nair mf port 1 -> c1 with 3/8 in tube, 1/4 in bore, 3 m\n\
                air mf port 2 -> c1 end with 3/8 in tube, 3 m\n";
    let lacking = compute(&format!("{DRYER}{REGULATOR}{TWO_SECTIONS}{ring}"));
    assert_eq!(lacking.missing(), ["the bore of the tube from `mf` to `c1`"]);
    assert_eq!(lacking.along("c1", 2_000.0), None);
    let sound = whole(&format!(
        "{DRYER}{REGULATOR}{TWO_SECTIONS}{}",
        ring.replace("tube, 3 m", "tube, 1/4 in bore, 3 m")
    ));
    // Fed from both ends, the middle is lowest.
    let line = sound.line("c1");
    let (metres, lowest) = sound.prediction.air.lowest(line, &line.sections[0]).unwrap();
    assert!((metres / 0.304_8 - 5_000.0).abs() < 1.0, "{metres} m");
    assert!(psi(lowest) < sound.along("c1", 0.0).unwrap());
}

#[test]
fn a_tube_without_flow_needs_no_bore() {
    let found = whole(&format!(
        "{DRYER}{REGULATOR}{TWO_SECTIONS}manifold mf {{ ports 2 }}\npressure-sensor p1 {{ span 0 .. 20 psi, step 0.1 psi, proof 30 psi }}\n\
         air d1 -> r1 -> mf\nair mf port 1 -> c1 with 3/8 in tube, 1/4 in bore, 3 m\nair mf port 2 -> p1 with 1/4 in tube, 0.5 m\n"
    ));
    near(found.inlet("p1"), 10.0);
}

#[test]
fn an_unread_run_leaves_the_air_alone() {
    let found = compute(&format!(
        "{DRYER}{REGULATOR}{TWO_SECTIONS}air d1 -> r1 -> c1\nair d1 -> -> r1\n"
    ));
    assert!(!found.office.problems.is_empty());
    assert_eq!(found.missing(), [] as [&str; 0]);
    assert_eq!(found.inlet("c1"), None);
}

#[test]
fn valves() {
    let text = |valve: &str| {
        format!(
            "{DRYER}{REGULATOR}valve v1 {{ {valve} }}\n{TWO_SECTIONS}air d1 -> r1 -> v1 -> c1 with 3/8 in tube, 1/4 in bore, 3 m\n"
        )
    };
    near(whole(&text("function shut-off")).flow("v1"), 4.0);
    near(whole(&text("function check")).flow("v1"), 4.0);
    let closed = whole(&text("function shut-off, stands closed"));
    assert_eq!(closed.inlet("c1"), None);
    near(closed.flow("r1"), 0.0);
    near(closed.inlet("v1"), 10.0);
}

#[test]
fn a_branch_draws_through_its_trunk() {
    // By hand: 3 scfh into a trunk of 4 kft without usage of its own, of which a branch at 2 kft takes 1 scfh at its far
    // end; p² falls by 2·pₐ·k·L·Q in each piece, Q half way along where it is used evenly.
    let ambient = 14.695_948_776;
    let found = whole(&format!(
        "{DRYER}{REGULATOR}cable c1 {{ pairs 10, gauge 24 awg
            section s1 {{ buried 2 kft, resistance 0.3 psi/scfh/kft, usage 0 scfh }}
            section s2 {{ buried 2 kft, resistance 0.3 psi/scfh/kft, usage 2 scfh }}
            branch b1 {{ from 2 kft, section x {{ aerial 1 kft, resistance 0.4 psi/scfh/kft, usage 1 scfh }} }}
        }}\nair d1 -> r1 -> c1\n"
    ));
    let after = |squares: f64, k: f64, feet: f64, flow: f64| squares - 2.0 * ambient * k * feet * flow;
    let fork = after((10.0_f64 + ambient).powi(2), 0.3, 2.0, 3.0);
    near(found.along("c1", 2_000.0), fork.sqrt() - ambient);
    near(found.along("c1", 4_000.0), after(fork, 0.3, 2.0, 1.0).sqrt() - ambient);
    let air = &found.prediction.air;
    let branch = air.lines().iter().find(|line| line.branch == Some(0)).unwrap();
    assert_eq!(branch.branch_name(&found.office), Some("b1"));
    let end = air.pressure_along(branch, branch.length().unwrap()).map(psi);
    near(end, after(fork, 0.4, 1.0, 0.5).sqrt() - ambient);
}

#[test]
fn a_section_that_a_branch_leaves_uses_its_air_once() {
    // By hand: 2 scfh, used evenly along 10 kft that a branch of 1 scfh leaves at 4 kft.
    let found = whole(&format!(
        "{DRYER}{REGULATOR}cable c1 {{ pairs 10, gauge 24 awg
            section s1 {{ buried 10 kft, resistance 0.2 psi/scfh/kft, usage 2 scfh }}
            branch b1 {{ from 4 kft, section x {{ aerial 1 kft, resistance 0.4 psi/scfh/kft, usage 1 scfh }} }}
        }}\nair d1 -> r1 -> c1\n"
    ));
    let flow = |feet: f64| {
        let metres = feet * 0.304_8;
        found.prediction.air.flow_along(found.line("c1"), metres).map(scfh)
    };
    near(found.flow("r1"), 3.0);
    near(flow(2_000.0), 2.6);
    near(flow(7_000.0), 0.6);
    near(flow(10_000.0), 0.0);
}

#[test]
fn a_pipe_feeds_cables_on_its_way() {
    let found = whole(&format!(
        "{DRYER}{REGULATOR}air-pipe ap1 {{ length 4 kft, bore 0.5 in, place mh-2 {{ at 2 kft }} }}\n{TWO_SECTIONS}\
         air d1 -> r1 -> ap1\nair ap1 place mh-2 -> c1\n"
    ));
    let (tap, end) = (
        found.along("ap1", 2_000.0).unwrap(),
        found.along("ap1", 4_000.0).unwrap(),
    );
    near(Some(end), tap);
    near(found.inlet("c1"), tap);
    assert!(tap < found.along("ap1", 0.0).unwrap());
    let air = &found.prediction.air;
    let way = air
        .supply_path(&AirLocation::OnLine(found.line("c1"), 3_048.0))
        .unwrap();
    assert_eq!(way.source, PathSource::Dryer(found.id("d1")));
    let falls: f64 = way.steps.iter().map(|step| psi(step.before - step.after)).sum();
    near(Some(30.0 - falls), found.along("c1", 10_000.0).unwrap());
    assert!(
        way.steps
            .windows(2)
            .all(|pair| (psi(pair[0].after) - psi(pair[1].before)).abs() < 1e-9)
    );
}

#[test]
fn a_regulator_says_how_it_stands() {
    let text = |delivers: &str| {
        format!(
            "dryer d1 {{ compressor none, delivers {delivers}, capacity 100 scfh, dew-point -40 degC }}\n\
             regulator r1 {{ set 10 psi, differential 5 psi, droop 0.05 psi/scfh }}\n{TWO_SECTIONS}air d1 -> r1 -> c1\n"
        )
    };
    let state = |found: &Computed| found.prediction.air.through(found.id("r1")).unwrap().regulator;
    let good = whole(&text("30 psi"));
    assert_eq!(state(&good), Some(RegulatorState::Regulating));
    near(good.prediction.air.outlet(good.id("r1")).map(psi), 10.0 - 0.05 * 4.0);
    assert_eq!(state(&whole(&text("12 psi"))), Some(RegulatorState::OutOfRegulation));
}

#[test]
fn nothing_is_known_downstream_of_a_regulator_out_of_regulation() {
    let text = |set: &str| {
        format!(
            "dryer d1 {{ compressor none, delivers 12 psi, capacity 100 scfh, dew-point -40 degC }}\n\
             regulator r1 {{ set {set} psi, differential 5 psi }}\n{TWO_SECTIONS}air d1 -> r1 -> c1\n"
        )
    };
    let out = whole(&text("10"));
    let air = &out.prediction.air;
    let bounds = air.outlet_bounds(out.id("r1")).unwrap();
    near(bounds.least.map(psi), 7.0);
    near(Some(psi(bounds.most)), 10.0);
    assert_eq!(air.outlet(out.id("r1")), None);
    assert_eq!(out.along("c1", 2_500.0), None);
    // What flows is what is used, whatever the pressure.
    near(out.flow("r1"), 4.0);
    let good = whole(&text("7"));
    assert_eq!(good.prediction.air.outlet_bounds(good.id("r1")), None);
    assert!(good.along("c1", 2_500.0).is_some());
}

#[test]
fn what_a_closed_check_valve_lets_through_is_nothing() {
    let found = whole(&format!(
        "{DRYER}{REGULATOR}dryer d2 {{ compressor none, delivers 20 psi, capacity 100 scfh, dew-point -40 degC }}\n\
         valve v1 {{ function check }}\nvalve v2 {{ function check }}\nmanifold m {{ ports 1 }}\n\
         {TWO_SECTIONS}air d1 -> v1 -> m\nair d2 -> v2 -> m\nair m port 1 -> r1 -> c1\n"
    ));
    assert_eq!(found.flow("v2"), Some(0.0));
    let supply = found.prediction.air.supply(found.id("d2")).unwrap();
    assert!(
        supply.flow.cubic_metres_per_second().abs() < f64::MIN_POSITIVE,
        "{supply:?}"
    );
}

#[test]
fn more_than_the_lines_can_bring_is_said_in_words() {
    let found = compute(&format!(
        "{DRYER}{REGULATOR}{}air d1 -> r1 -> c1\n",
        TWO_SECTIONS.replace("usage 2 scfh", "usage 200 scfh")
    ));
    let failures: Vec<_> = found.prediction.air.failures().collect();
    assert_eq!(failures.len(), 1);
    assert!(failures[0].why.to_string().contains("vacuum"), "{}", failures[0].why);
    assert!(failures[0].at.is_some_and(|(line, _)| line.thing == found.id("c1")));
    assert_eq!(found.inlet("c1"), None);
}

#[test]
fn systems_do_not_wait_for_each_other() {
    let other = "dryer d2 { compressor none, delivers 9 psi, capacity 100 scfh, dew-point -40 degC }\n\
                 cable c2 { pairs 10, gauge 24 awg, section s { buried 1 kft, resistance 0.1 psi/scfh/kft } }\nair d2 -> c2\n";
    let found = compute(&format!("{DRYER}{REGULATOR}{TWO_SECTIONS}air d1 -> r1 -> c1\n{other}"));
    assert_eq!(found.missing(), ["the usage of section `s` of `c2`"]);
    near(found.flow("r1"), 4.0);
    assert_eq!(found.inlet("c2"), None);
}

#[test]
fn what_the_office_does_not_say_of_dryness() {
    let text = format!("{DRYER}{REGULATOR}{TWO_SECTIONS}air d1 -> r1 -> c1\n");
    let lacking = compute(&text.replace(", dew-point -40 degC", ""));
    let gaps: Vec<_> = lacking
        .prediction
        .missing
        .iter()
        .map(|gap| (gap.what.as_str(), gap.needed_for))
        .collect();
    assert_eq!(gaps, [("the dew point of `d1`", NeededFor::Dryness)]);
    let found = whole(&text);
    // The vapour of a dew point of -40 degC at 30 psig, at a tenth of a psi less than 10 psig: e goes with p.
    let place = found
        .prediction
        .air
        .location_of(&found.office, &found.networks, found.id("c1"))
        .unwrap();
    let (vapour, dryness) = found.prediction.vapour(&place).unwrap();
    let expected = dryness.dew_point.quantity.si();
    assert!((expected - 233.15).abs() < 1e-9);
    let ratio = vapour.pascals() / dryness.vapour(dryness.at).pascals();
    near(Some(ratio), (10.0 + 14.695_949) / (30.0 + 14.695_949));
}

#[test]
fn a_capacity_is_counted_once() {
    // By hand: 20 scfh at 14.696 psia and 68 °F are 20·519.67/527.67 scfh at 60 °F (worked example STD-1); normal litres carry
    // their own conditions, 288.706/273.15 of them in the volume, whatever else is said.
    let capacity = |stated: &str| {
        let found = compute(&format!(
            "dryer d1 {{ compressor piston, delivers 30 psi, capacity {stated}, dew-point -40 degC }}\n"
        ));
        scfh(
            drysheath_prediction::capacity(&found.office, found.id("d1"))
                .unwrap()
                .flow,
        )
    };
    near(
        Some(capacity("20 scfh, rating-temperature 68 degF")),
        20.0 * 519.67 / 527.67,
    );
    near(Some(capacity("20 scfh")), 20.0);
    let normal = capacity("10 nl/min");
    near(Some(capacity("10 nl/min, rating-temperature 0 degC")), normal);
    near(Some(normal), 10.0 * 60.0 / 28.316_846_592 * (519.67 / 1.8) / 273.15);
    // At 5280 ft the air has 12.100 75 psia (worked example ALT-1), and a compressor takes in so much less.
    let high = "office high { elevation 5280 ft, coldest -30 degC }\n\
                dryer d1 { compressor piston, delivers 30 psi, capacity 20 scfh, dew-point -40 degC }\n";
    let office = lowered(high);
    let (id, _) = office.things().nth(1).unwrap();
    let capacity = drysheath_prediction::capacity(&office, id).unwrap();
    near(Some(capacity.altitude), 12.100_753 / 14.695_949);
}

#[test]
fn tubes_in_series_lose_one_after_another() {
    let rest =
        "manifold mf { ports 2 }\nair-pipe ap { length 100 m, bore 16 mm, usage 10 scfh }\nair mf port 1 -> ap\n";
    let by_tube = |with: &str| whole(&format!("{DRYER}{rest}air d1 -> mf with {with}\n")).inlet("mf");
    let at_once = by_tube("3/8 in tube, 1/4 in bore, 10 m").unwrap();
    near(
        by_tube("3/8 in tube, 1/4 in bore, 4 m then 3/8 in tube, 1/4 in bore, 6 m"),
        at_once,
    );
    // The same with a joint of its own between the two, and against the order in which they are written.
    let joined = whole(&format!(
        "{DRYER}{rest}manifold m2 {{ ports 1 }}\nair d1 -> m2 with 1/4 in tube, 0.17 in bore, 5 m\n\
         air m2 port 1 -> mf with 3/8 in tube, 1/4 in bore, 6 m\n"
    ));
    let expected = joined.inlet("mf").unwrap();
    near(
        by_tube("1/4 in tube, 0.17 in bore, 5 m then 3/8 in tube, 1/4 in bore, 6 m"),
        expected,
    );
    near(
        by_tube("3/8 in tube, 1/4 in bore, 6 m then 1/4 in tube, 0.17 in bore, 5 m"),
        expected,
    );
    let lacks = compute(&format!(
        "{DRYER}{rest}air d1 -> mf with 3/8 in tube, 1/4 in bore, 4 m then 1/4 in tube, 1 m\n"
    ));
    assert_eq!(lacks.missing(), ["the bore of piece 2 of the tube from `d1` to `mf`"]);
    assert_eq!(lacks.inlet("mf"), None);
}

#[test]
fn the_air_in_cable_on_poles_may_be_warmer_than_that_on_its_way() {
    let office = |fields: &str, aerial: f64| {
        format!(
            "office o {{ elevation 0 m, air-temperature 60 degF{fields} }}
dryer d1 {{ compressor none, delivers 10 psi, capacity 100 scfh, dew-point -40 degC }}
air d1 -> c1
cable c1 {{ pairs 50, section s1 {{ buried 1 km, resistance 0.1 psi/scfh/kft, usage 2 scfh }}
    section s2 {{ aerial 1 km, resistance {aerial} psi/scfh/kft, usage 2 scfh }} }}
"
        )
    };
    let end = |text: &str| {
        let office = lowered(text);
        let air = Prediction::new(&office, &Networks::new(&office)).air;
        air.pressure_along(&air.lines()[0], 2000.0).unwrap().pascals()
    };
    // By hand, Sutherland's law (ISO 2533): resistance goes with T^2.5/(T + 110.4), which at 40 °C is 1.154586 times that at 60 °F.
    let warm = end(&office(", cable-temperature { aerial 40 degC }", 0.1));
    let by_hand = end(&office("", 0.115_458_6));
    assert!((warm - by_hand).abs() < 0.1, "{warm} Pa, {by_hand} Pa");
    assert!(end(&office("", 0.1)) - warm > 100.0);
}
