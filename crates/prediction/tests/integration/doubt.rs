//! States that are known only within bounds: what is expected must hold at both ends of them.

use drysheath_prediction::{AirState, DefaultMinimums, Doubt, ExpectationOutcome, HoldUp, StateError, outcome};

use super::air::{Computed, compute_text, psi};

const NO_PRACTICE: DefaultMinimums = [None; 3];

/// An office with one cable behind a regulator, and statements.
fn office(regulator: &str, source: &str, statements: &str) -> Computed {
    let text = format!(
        "office elm-hollow {{ elevation 310 m, coldest -30 degC }}
dryer d1 {{ compressor piston, delivers 30 psi, capacity 400 scfh, dew-point -40 degC }}
regulator r1 {{ {regulator} }}
flow-sensor f1 {{ span 0 .. 60 scfh, step 0.2 scfh, error 0.3 scfh, proof 60 psi, limit high 26 scfh major deadband 0.6 scfh }}
manifold mf {{ ports 4 }}
{source}
air r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
air mf port 1 -> c101 with 3/8 in tube, 1/4 in bore, 3 m
cable c101 {{
    pairs 50, gauge 24 awg
    section s1 {{ underground 1.2 km, resistance 0.09 psi/scfh/kft, usage 3 scfh, volume 7 ft3, minimum 5 psi }}
    section s2 {{ buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh, volume 12 ft3, minimum 5 psi }}
}}
{statements}"
    );
    let found = compute_text(&text);
    assert!(found.office.problems.is_empty(), "{:?}", found.office.problems);
    found
}

const FROM_DRYER: &str = "air d1 -> r1 with 3/8 in tube, 1/4 in bore, 4 m";
/// Bottles that take over once the dryer has stopped, with less pressure than the regulator needs.
const WITH_BOTTLES: &str = "bottle n2 { holds 230 scf, delivers 11 psi, dew-point -40 degC }
valve v1 { function check }
valve v2 { function check }
manifold m0 { ports 3 }
air d1 -> v1 -> m0 with 3/8 in tube, 1/4 in bore, 4 m
air n2 -> v2 -> m0 with 3/8 in tube, 1/4 in bore, 4 m
air m0 port 1 -> r1 with 3/8 in tube, 1/4 in bore, 4 m";

impl Computed {
    fn state_of(&self, number: usize) -> &AirState {
        self.prediction.states[number]
            .as_ref()
            .unwrap_or_else(|why| panic!("{why:?}"))
    }

    /// What becomes of everything that is expected.
    fn outcomes(&self) -> Vec<ExpectationOutcome<'_>> {
        let whens = self.office.whens.iter().enumerate();
        let all = whens.flat_map(|(number, when)| when.expected.iter().map(move |expected| (number, expected)));
        all.map(|(number, expected)| {
            outcome(
                &self.office,
                &self.networks,
                &NO_PRACTICE,
                self.state_of(number),
                expected,
            )
        })
        .collect()
    }
}

fn word(outcome: &ExpectationOutcome<'_>) -> &'static str {
    match outcome {
        ExpectationOutcome::Holds => "holds",
        ExpectationOutcome::Below(_) | ExpectationOutcome::Alarms(_) => "does not hold",
        ExpectationOutcome::Doubtful(Doubt::LacksPressure(_)) => "lacks pressure",
        ExpectationOutcome::Doubtful(Doubt::Relieves(_)) => "relieves",
        ExpectationOutcome::Doubtful(Doubt::FlowsBack(_)) => "flows back",
        ExpectationOutcome::Doubtful(Doubt::Overfed(_)) => "overfed",
        _ => "not known",
    }
}

fn words(regulator: &str, source: &str, statements: &str) -> Vec<&'static str> {
    office(regulator, source, statements)
        .outcomes()
        .iter()
        .map(word)
        .collect()
}

/// The lowest pressure along the cable with the regulator set to so many psi, where that state is known.
fn lowest(differential: f64, set: f64) -> Option<f64> {
    let found = office(
        &format!("set 10 psi, differential {differential} psi"),
        FROM_DRYER,
        &format!("when r1 has set {set} psi expect no alarm\n"),
    );
    let air = &found.state_of(0).air;
    let line = &air.lines()[0];
    let pressures = line
        .sections
        .iter()
        .map(|section| air.lowest(line, section).map(|(_, pressure)| psi(pressure)));
    let pressures: Option<Vec<f64>> = pressures.collect();
    pressures.map(|all| all.into_iter().fold(f64::INFINITY, f64::min))
}

#[test]
fn a_regulator_that_lacks_pressure_is_between_its_supply_less_its_differential_and_its_set_pressure() {
    // The lower end is where one with this differential would just regulate, the upper where one that needs none does.
    let (mut regulates, mut lacks) = (20.0, 29.0);
    while lacks - regulates > 1e-4 {
        let set = f64::midpoint(regulates, lacks);
        match lowest(5.0, set) {
            Some(_) => regulates = set,
            None => lacks = set,
        }
    }
    assert!((24.5..25.0).contains(&regulates), "{regulates} psi");
    let (low, high) = (lowest(5.0, regulates).unwrap(), lowest(0.01, 29.0).unwrap());
    assert!(high - low > 2.0, "{low} psi to {high} psi");
    let wanted = [
        (low - 0.01, "holds"),
        (low + 0.01, "lacks pressure"),
        (high - 0.01, "lacks pressure"),
        (high + 0.01, "does not hold"),
    ];
    for (least, wanted) in wanted {
        let expected = format!("when r1 has set 29 psi expect c101 above {least} psi\n");
        assert_eq!(
            words("set 10 psi, differential 5 psi", FROM_DRYER, &expected),
            [wanted],
            "{least} psi"
        );
    }
    // Its flow is shown as not known.
    let found = office(
        "set 10 psi, differential 5 psi",
        FROM_DRYER,
        "when r1 has set 29 psi expect f1 high, no alarm\n",
    );
    let air = &found.state_of(0).air;
    assert!(air.through(found.id("f1")).is_none() && air.supply(found.id("d1")).is_none());
    assert_eq!(
        found.outcomes().iter().map(word).collect::<Vec<_>>(),
        ["lacks pressure", "lacks pressure"]
    );
}

#[test]
fn over_time_it_is_the_same_and_the_hold_up_is_the_least() {
    let regulator = "set 10 psi, differential 8 psi";
    let expected = "when d1 stops expect c101 above minimum for 10 h\n\
                    when d1 stops expect c101 above minimum for 30 min\n\
                    when d1 stops expect c101 above 5 psi\n\
                    when d1 stops expect c101 above 9.9 psi for 10 h\n";
    let found = office(regulator, WITH_BOTTLES, expected);
    let outcomes: Vec<_> = found.outcomes().iter().map(word).collect();
    assert_eq!(outcomes, ["lacks pressure", "holds", "lacks pressure", "does not hold"]);
    // The outlet at 3 psi, with scipy's BDF and 256 cells: 0.87 h. The regulator keeps the start of the cable at its minimum no longer.
    let HoldUp::Falls(fall) = found.hold_up(&["d1"]) else {
        panic!("{:?}", found.hold_up(&["d1"]));
    };
    let hours = fall.time.seconds() / 3600.0;
    assert!((hours - 0.87).abs() < 0.02, "{hours} h");
}

#[test]
fn of_two_regulators_on_one_tank_one_may_be_held_back_and_the_other_wide_open() {
    let text = "office elm-hollow { elevation 0 m, coldest -20 degC, air-minimum { buried 5 psi, aerial 0.5 psi } }
dryer d1 { compressor piston, delivers 30 psi, capacity 60 scfh, dew-point -40 degC }
valve v1 { function check }
tank tk { volume 30 ft3 }
manifold m0 { ports 4 }
air d1 -> v1 -> tk -> m0 port 1
regulator r1 { set 10 psi, differential 8 psi, droop 0.01 psi/scfh }
regulator r2 { set 10 psi, differential 15 psi, droop 0.01 psi/scfh }
air m0 port 2 -> r1 -> c1
air m0 port 3 -> r2 -> c2
cable c1 { pairs 50, gauge 24 awg, section s1 { buried 1 km, resistance 0.05 psi/scfh/kft, usage 1 scfh, volume 4 ft3 } }
cable c2 { pairs 50, gauge 24 awg, section s1 { aerial 1 km, resistance 0.05 psi/scfh/kft, usage 8 scfh, volume 4 ft3 } }
when d1 stops expect c1 above 5 psi for 4.4 h, c1 above 5 psi for 5.5 h
";
    let found = compute_text(text);
    // Two cables and a tank as three lumps, by scipy's Radau: 6.57 h with both wide open, 17.5 h with both held back, and 4.68 h with r1 held
    // back and r2 wide open.
    let HoldUp::Falls(fall) = found.hold_up(&["d1"]) else {
        panic!("{:?}", found.hold_up(&["d1"]));
    };
    let hours = fall.time.seconds() / 3600.0;
    assert!((hours - 4.68).abs() < 0.1, "{hours} h");
    assert_eq!(
        found.outcomes().iter().map(word).collect::<Vec<_>>(),
        ["holds", "lacks pressure"]
    );
    // Of six nothing is known over time.
    let many: Vec<String> = (3..=6)
        .map(|number| format!("regulator r{number} {{ set 10 psi, differential 5 psi }}"))
        .collect();
    let found = compute_text(&format!("{text}{}", many.join("\n")));
    let outcomes = found.outcomes();
    assert!(
        outcomes
            .iter()
            .all(|outcome| matches!(outcome, ExpectationOutcome::NoTransient(StateError::ManyRegulators))),
        "{outcomes:?}"
    );
    assert!(matches!(
        found.hold_up(&["d1"]),
        HoldUp::NotKnown(StateError::ManyRegulators)
    ));
}

#[test]
fn what_a_regulator_passes_beyond_its_flow_max_is_not_known() {
    let far = "pressure-sensor ps1 { at c101 3.2 km, span 0 .. 30 psi, step 0.1 psi, error 0.2 psi, proof 60 psi, limit low 7 psi minor deadband 0.3 psi }\n";
    let expected = format!(
        "{far}when c101 leaks 60 scfh at 0.5 km expect c101 above 2 psi, c101 above 2 psi for 1 h, no alarm, f1 high, ps1 low, ps1 low within 20 h\n"
    );
    // With pressure enough it passes between 30 and 80 scfh. Low pressures are as low or lower, and 30 scfh pass a limit of 26 scfh too, but 20 do not.
    let rated = |flow_max: &str| {
        words(
            &format!("set 10 psi, differential 5 psi, flow-max {flow_max}"),
            FROM_DRYER,
            &expected,
        )
    };
    let all = ["holds", "holds", "does not hold", "holds", "holds", "holds"];
    assert_eq!(rated("80 scfh"), all);
    let undone = ["overfed", "overfed", "does not hold", "holds", "holds", "holds"];
    assert_eq!(rated("30 scfh"), undone);
    assert_eq!(
        rated("20 scfh"),
        ["overfed", "overfed", "does not hold", "overfed", "holds", "holds"]
    );
    // Without pressure enough nothing behind it is known, at once or over time.
    let starved = "when r1 has set 29 psi, c101 leaks 60 scfh at 0 m expect c101 above 2 psi, c101 above 2 psi for 1 h, f1 high within 2 h\n";
    assert_eq!(
        words("set 10 psi, differential 5 psi, flow-max 20 scfh", FROM_DRYER, starved),
        ["overfed"; 3]
    );
}

#[test]
fn one_sure_alarm_is_enough_for_any_to_be_one() {
    // The flow is past its limit or not; the pressure is, whatever the regulator does.
    let far = "pressure-sensor ps1 { at c101 3.2 km, span 0 .. 30 psi, step 0.1 psi, error 0.2 psi, proof 60 psi, limit high 12 psi minor deadband 0.3 psi }\n";
    let expected = format!("{far}when r1 has set 29 psi expect no alarm\n");
    assert_eq!(
        words("set 10 psi, differential 5 psi", FROM_DRYER, &expected),
        ["does not hold"]
    );
}

#[test]
fn an_open_regulator_may_relieve() {
    let opens =
        "when r1 opens expect f1 high\nwhen r1 opens expect c101 above 7 psi\nwhen r1 opens expect c101 above 20 psi\n";
    let regulator = "set 10 psi, differential 5 psi";
    assert_eq!(words(regulator, FROM_DRYER, opens), ["holds", "holds", "holds"]);
    let relieved = words("set 10 psi, differential 5 psi, relief 15 psi", FROM_DRYER, opens);
    assert_eq!(relieved, ["relieves", "holds", "relieves"]);
}

#[test]
fn what_is_shut_in_and_loses_nothing_keeps_what_is_not_known() {
    let stops =
        "when c101 section s1 has usage 0 scfh, c101 section s2 has usage 0 scfh, d1 stops expect c101 above minimum\n";
    assert_eq!(
        words("set 10 psi, differential 5 psi", FROM_DRYER, stops),
        ["not known"]
    );
}

#[test]
fn air_that_may_flow_back_undoes_what_holds() {
    let direct = "bottle n2 { holds 230 scf, delivers 25 psi, dew-point -40 degC }
manifold m0 { ports 3 }
air d1 -> m0 with 3/8 in tube, 1/4 in bore, 4 m
air n2 -> m0 with 3/8 in tube, 1/4 in bore, 4 m
air m0 port 1 -> r1 with 3/8 in tube, 1/4 in bore, 4 m";
    let expected = "when d1 stops expect c101 above minimum for 20 h, no alarm for 20 h, c101 above minimum\n";
    assert_eq!(
        words("set 10 psi, differential 5 psi", direct, expected),
        ["flows back"; 3]
    );
    let kept = direct.replace("air d1 -> m0", "valve v1 { function check }\nair d1 -> v1 -> m0");
    assert_eq!(words("set 10 psi, differential 5 psi", &kept, expected), ["holds"; 3]);
}
