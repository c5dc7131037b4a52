//! Pressures over time: how long they hold, and what is expected for or within a time.

use drysheath_prediction::{
    DefaultMinimums, ExpectationOutcome, FirstShortfall, HoldUp, NetworkChange, StateError, hold_up, outcome,
};

use super::air::{Computed, compute, compute_text, psi, scfh, whole};

const NO_PRACTICE: DefaultMinimums = [None; 3];

/// A cable that two dryers feed, each through a regulator of its own. Its pressures are those of the first.
fn two_dryers(capacity: &str) -> String {
    format!(
        "
dryer d1 {{ compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }}
dryer d2 {{ compressor piston, delivers 30 psi, capacity {capacity}, dew-point -40 degC }}
regulator r1 {{ set 10 psi, differential 5 psi }}
regulator r2 {{ set 9.5 psi, differential 5 psi }}
manifold mf {{ ports 4 }}
air d1 -> r1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> r2 -> mf with 3/8 in tube, 1/4 in bore, 4 m
air mf port 1 -> c1 with 3/8 in tube, 1/4 in bore, 3 m
cable c1 {{ pairs 50, gauge 24 awg
    section s1 {{ buried 1 km, resistance 0.1 psi/scfh/kft, usage 3 scfh, volume 8 ft3, minimum 4 psi }}
}}
"
    )
}

impl Computed {
    fn hold_up(&self, stops: &[&str]) -> HoldUp<'_> {
        let stops: Vec<_> = stops.iter().map(|name| self.id(name)).collect();
        hold_up(&self.office, &self.networks, &NO_PRACTICE, &self.prediction.air, &stops)
    }

    #[track_caller]
    fn fall(&self, stops: &[&str]) -> FirstShortfall<'_> {
        match self.hold_up(stops) {
            HoldUp::Falls(fall) => fall,
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn another_source_keeps_the_pressures_only_within_its_capacity() {
    let found = whole(&two_dryers("4 scfh"));
    assert!(matches!(found.hold_up(&["d1"]), HoldUp::Lasts));
    let both = found.fall(&["d1", "d2"]).time.seconds();
    // It keeps a third of what is lost: the pressures fall all the same, only later.
    let found = whole(&two_dryers("1 scfh"));
    let alone = found.fall(&["d1"]).time.seconds();
    assert!(
        (1.1 * both..10.0 * both).contains(&alone),
        "{alone} s, {both} s without it"
    );
}

#[test]
fn cold_cable_holds_longer_than_warm_cable() {
    let text = |office: &str| format!("office x {{ {office} }}\n{}", two_dryers("100 scfh"));
    let seconds = |office: &str| compute_text(&text(office)).fall(&["d1", "d2"]).time.seconds();
    let usual = seconds("air-temperature 15 degC");
    // All of the air at a temperature is what the air of the cable alone is, but for the tubes, which lose next to nothing.
    for temperature in ["-20 degC", "40 degC"] {
        let all = seconds(&format!("air-temperature {temperature}"));
        let cable = seconds(&format!(
            "air-temperature 15 degC, cable-temperature {{ buried {temperature} }}"
        ));
        assert!((cable / all - 1.0).abs() < 2e-3, "{temperature}: {cable} s, {all} s");
        assert!(
            (cable / usual - 1.0).abs() > 0.05,
            "{temperature}: {cable} s, {usual} s"
        );
    }
}

#[test]
fn no_hold_up_starts_from_pressures_that_a_source_cannot_keep() {
    let one = two_dryers("100 scfh").replace("air d2", "# air d2");
    let found = whole(&one);
    assert!(psi(found.prediction.air.inlet(found.id("mf")).unwrap()) > 9.9);
    found.fall(&["d1"]);
    let found = whole(&one.replacen("capacity 100 scfh", "capacity 2 scfh", 1));
    let HoldUp::NotKnown(why) = found.hold_up(&["d1"]) else {
        panic!("{:?}", found.hold_up(&["d1"]));
    };
    assert_eq!(why, StateError::NormalOverdrawn(found.id("d1")));
}

#[test]
fn bottles_keep_the_pressures_until_they_are_empty() {
    let bottle = |holds: &str| {
        two_dryers("4 scfh").replace(
            "dryer d2 { compressor piston, delivers 30 psi, capacity 4 scfh, dew-point -40 degC }",
            &format!("bottle d2 {{ delivers 30 psi{holds} }}"),
        )
    };
    let lasts = |holds: &str| {
        let found = whole(&bottle(holds));
        found.fall(&["d1"]).time.seconds()
    };
    let (one, two) = (lasts(", holds 100 scf"), lasts(", holds 100 scf, bottles 2"));
    // The second bottle lasts as long as it takes to give 100 scf at the pressures that the first has kept.
    let found = whole(&bottle(", holds 100 scf"));
    let air = &found.prediction.air;
    let state = air.in_state(&found.office, &found.networks, &[NetworkChange::Stops(found.id("d1"))]);
    let given = scfh(state.unwrap().supply(found.id("d2")).unwrap().flow);
    let expected = 100.0 / given * 3600.0;
    assert!(
        ((two - one) / expected - 1.0).abs() < 1e-3,
        "{one} s, {two} s, {expected} s"
    );
    // Bottles of which it is not said what they hold keep nothing for sure.
    let found = compute(&bottle(""));
    let HoldUp::NotKnown(why) = found.hold_up(&["d1"]) else {
        panic!("{:?}", found.hold_up(&["d1"]));
    };
    assert_eq!(
        why.reason(&found.office),
        "the file does not say what one bottle of `d2` holds"
    );
}

/// A short cable at 10 psi that air passes freely. It loses what a laminar leak of 6 psi/scfh lets out: by hand, and by scipy's
/// `solve_ivp`, 2 ft³ are at 6.756 psi after 0.25 h and at 2.369 psi after 1 h.
fn leaking(volume: &str, expected: &str) -> Computed {
    compute(&format!(
        "
dryer d1 {{ compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }}
regulator r1 {{ set 10 psi, differential 5 psi }}
air d1 -> r1 -> c1 with 3/8 in tube, 1/4 in bore, 0.03 m
cable c1 {{ pairs 50, gauge 24 awg, section s1 {{ buried 10 m, resistance 0.001 psi/scfh/kft, usage 2.233716 scfh{volume} }} }}
pressure-sensor ps1 {{ at c1 5 m, span 0 .. 15 psi, step 0.001 psi, proof 30 psi, limit low 6.756391 psi }}
when d1 stops expect {expected}
"
    ))
}

impl Computed {
    /// What becomes of what the only statement expects.
    fn outcome(&self) -> ExpectationOutcome<'_> {
        assert!(self.office.problems.is_empty(), "{:?}", self.office.problems);
        let state = self.prediction.states[0].as_ref().unwrap();
        let expected = &self.office.whens[0].expected[0];
        outcome(&self.office, &self.networks, &NO_PRACTICE, state, expected)
    }
}

const TWO_CUBIC_FEET: &str = ", volume 2 ft3";

#[test]
fn a_pressure_holds_for_as_long_as_its_air_lasts() {
    let found = leaking(TWO_CUBIC_FEET, "c1 above 6.756391 psi for 1 h");
    let ExpectationOutcome::Below(lowest) = found.outcome() else {
        panic!("{:?}", found.outcome());
    };
    let fell = lowest.fell.unwrap().seconds();
    assert!((fell / 900.0 - 1.0).abs() < 2e-3, "{fell} s");
    assert!((psi(lowest.pressure) - 2.369_334).abs() < 5e-3, "{:?}", lowest.pressure);
    let found = leaking(TWO_CUBIC_FEET, "c1 above 6.756391 psi for 14 min");
    assert!(
        matches!(found.outcome(), ExpectationOutcome::Holds),
        "{:?}",
        found.outcome()
    );
    // Within a time it is the end that counts.
    let found = leaking(TWO_CUBIC_FEET, "c1 above 2.3 psi within 1 h");
    assert!(
        matches!(found.outcome(), ExpectationOutcome::Holds),
        "{:?}",
        found.outcome()
    );
    let found = leaking(TWO_CUBIC_FEET, "c1 above 2.4 psi within 1 h");
    let late = found.outcome();
    assert!(
        matches!(late, ExpectationOutcome::Below(lowest) if lowest.fell.is_none()),
        "{late:?}"
    );
}

#[test]
fn an_alarm_comes_within_its_time_or_late() {
    let found = leaking(TWO_CUBIC_FEET, "ps1 low within 16 min");
    assert!(
        matches!(found.outcome(), ExpectationOutcome::Holds),
        "{:?}",
        found.outcome()
    );
    let found = leaking(TWO_CUBIC_FEET, "ps1 low within 14 min");
    let ExpectationOutcome::Alarms(late) = found.outcome() else {
        panic!("{:?}", found.outcome());
    };
    let late = late[0].after.unwrap().seconds();
    assert!((late - 840.0).abs() < 1e-6, "{late} s");
    let found = leaking(TWO_CUBIC_FEET, "no alarm for 14 min");
    assert!(
        matches!(found.outcome(), ExpectationOutcome::Holds),
        "{:?}",
        found.outcome()
    );
    let found = leaking(TWO_CUBIC_FEET, "no alarm for 1 h");
    let ExpectationOutcome::Alarms(alarms) = found.outcome() else {
        panic!("{:?}", found.outcome());
    };
    let came = alarms[0].after.unwrap().seconds();
    assert!((came / 900.0 - 1.0).abs() < 2e-3, "{came} s");
}

#[test]
fn what_keeps_a_course_from_being_known_is_named() {
    let reason = |found: &Computed| match found.outcome() {
        ExpectationOutcome::NoTransient(why) => why.reason(&found.office),
        other => panic!("{other:?}"),
    };
    let found = leaking("", "c1 above 2 psi for 1 h");
    assert_eq!(
        reason(&found),
        "the file does not say the volume of section `s1` of `c1`"
    );
    // A tank that no air reaches when all is well, and that a valve then joins with the rest.
    let tank = "tank tk { volume 0.1 m3, rating 60 psi }\nvalve v1 { function shut-off, stands closed }\nmanifold mf { ports 4 }\n\
                air d1 -> r1 -> mf\nair mf port 1 -> c1\nair mf port 2 -> v1 -> tk\n\
                dryer d1 { compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }\n\
                regulator r1 { set 10 psi, differential 5 psi }\n\
                cable c1 { pairs 50, gauge 24 awg, section s1 { buried 1 km, resistance 0.1 psi/scfh/kft, usage 1 scfh, volume 2 ft3 } }\n\
                when v1 opens expect c1 above 2 psi for 1 h\n";
    assert_eq!(
        reason(&compute(tank)),
        "the normal pressure of `tk` is not known, or not above that of the surrounding air"
    );
    // A thing in the run of which nobody can know what air does in it.
    let unknown = tank
        .replace("tk { volume", "tk2 { volume")
        .replace(
            "valve v1 { function shut-off, stands closed }",
            "other x1 { is \"chest of gel\" }",
        )
        .replace("r1 -> mf", "r1 -> x1 -> mf")
        .replace("air mf port 2 -> v1 -> tk\n", "")
        .replace("v1 opens", "r1 has set 9 psi");
    assert_eq!(
        reason(&compute(&unknown)),
        "a place or a figure that it needs is not known"
    );
}
