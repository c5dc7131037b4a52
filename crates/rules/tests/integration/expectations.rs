//! What is expected of other states: what is said of it, and what is said where it cannot be known.

use drysheath_rules::Settings;
use drysheath_rules::example::{OFFICE, check, compose};

/// The messages on the statements of `when`.
fn said(example: &str) -> Vec<String> {
    let outcome = check(example, &Settings::default());
    let messages = outcome.findings.into_iter().map(|finding| finding.message);
    messages
        .filter(|message| message.starts_with("when ") || message.contains("is not checked"))
        .collect()
}

fn dryer(capacity: &str) -> String {
    format!(
        "dryer d1 {{ compressor piston, delivers 30 psi, capacity {capacity}, dew-point -40 degC, \
         contact humidity {{ healthy closed }} }}\n"
    )
}

#[test]
fn an_inrush_is_no_overload() {
    // Settled it loses 8.84 scfh; while the cable fills, more would flow than the dryer can give.
    let expected = "when r1 has set 12 psi expect c101 above 2 psi for 1 h, c101 above 8.9 psi within 1000 h\n";
    assert_eq!(said(&(dryer("9 scfh") + expected)), [""; 0]);
    // But it fills no faster than the dryer can make it.
    let expected = "when r1 has set 12 psi expect c101 above 8.9 psi within 1 h\n";
    let found = said(&(dryer("9 scfh") + expected));
    assert!(found.len() == 1 && found[0].contains("below the 8.9 psi"), "{found:?}");
}

#[test]
fn an_overload_names_what_is_asked_and_what_can_be_given() {
    let found = said(&(dryer("8 scfh") + "when r1 has set 12 psi expect c101 above 2 psi, c101 above 9 psi\n"));
    assert_eq!(found.len(), 1, "{found:?}");
    for part in [
        "when r1 has set 12 psi, the pressure ",
        ", below the 9 psi that is expected; `d1` gives all of the 7.71 scfh that it can here, and would have to give 8.838 scfh to hold its \
         pressure",
    ] {
        assert!(found[0].contains(part), "{found:?}");
    }
}

#[test]
fn what_a_dryer_cannot_give_when_all_is_well_is_no_state_to_start_from() {
    let found = said(&(dryer("6 scfh") + "when r1 has set 9 psi expect c101 above 2 psi\n"));
    assert_eq!(
        found,
        [
            "what holds when r1 has set 9 psi is not checked: `d1` is asked for more than it can give when all is well, so that the \
             pressures to start from are not known"
        ]
    );
}

#[test]
fn what_cannot_be_read_is_said_where_it_is_and_of_no_expectation() {
    // All of these hold, but in what is left of the office.
    let expected = "when c101 breaks at 2.1 km expect f1 high\nwhen r1 has set 20 psi expect f1 high\nwhen d1 stops expect ps1 low\n";
    let given = |statements: &str| {
        let outcome = check(&format!("{statements}{expected}"), &Settings::default());
        let rules = outcome.findings.into_iter().map(|finding| finding.rule.name());
        rules.collect::<Vec<_>>()
    };
    assert_eq!(given(""), [""; 0]);
    // A tube that cannot be read, a section, and a run.
    for unread in [
        "air d1 -> r1 -> f1 -> mf with 3/8 3/8 in tube, 1/4 in bore, 4 m\n",
        "cable c101 { pairs 50, gauge 24 awg, rating 20 psi, section s1 { buried 3.2 km, resistance 0.09, usage 3 scfh } }\n",
        "# without air mf port 1\nair mf port 1 -> c1o1 with 3/8 in tube, 1/4 in bore, 3 m\n",
    ] {
        let given = given(unread);
        assert!(
            given.len() == 1 && !given[0].starts_with("expectation"),
            "{unread}: {given:?}"
        );
    }
    // What cannot be read elsewhere hides nothing.
    let block =
        "block tb { pairs 25, title unquoted }\nair mf port 1 -> c101 with 3/8 in tube, 3 m\n# without air mf port 1\n";
    assert!(given(block).contains(&"expectation-not-known"), "{:?}", given(block));
}

#[test]
fn what_cannot_be_read_in_another_file_is_said_once() {
    let expected = "when c101 breaks at 2.1 km expect f1 high\nwhen r1 has set 20 psi expect f1 high\nwhen d1 stops expect ps1 low\n";
    let placed = |air: &str| {
        format!(
            "use parts/bracket\nassembly b1 : bracket\n{expected}# file parts/bracket\nassembly bracket {{ model \"Quern B1\" }}\n{air}"
        )
    };
    assert_eq!(said(&placed("manifold inner { ports 4, rating 30 psi }\n")), [""; 0]);
    for unread in ["manifold inner { ports 4, rating 30 psi psi }\n", "air inner -> with\n"] {
        let air = format!("manifold outer {{ ports 4, rating 30 psi }}\n{unread}");
        assert_eq!(
            said(&placed(&air)),
            [
                "what holds when c101 breaks at 2.1 km and in 2 other states is not checked: something of `parts/bracket.office` cannot be read"
            ]
        );
    }
    // Its name may have been in what is lost.
    let lost = placed("manifold outer { ports 4, rating 30 psi }\nregulator { }\n");
    assert_eq!(
        said(&lost.replace("c101 breaks", "b1-r9 closes, c101 breaks")),
        [
            "what holds when b1-r9 closes, c101 breaks at 2.1 km and in 2 other states is not checked: something of `parts/bracket.office` cannot be read"
        ]
    );
    assert_eq!(
        said(&lost.replace(expected, "when b1-r9 closes expect c101 above minimum\n")),
        ["what holds when b1-r9 closes is not checked: something of `parts/bracket.office` cannot be read"]
    );
    // What is not of the air takes nothing from it.
    assert_eq!(said(&placed("block tz { pairs 25, title unquoted }\n")), [""; 0]);
    let part = format!(
        "use parts/quads\nmanifold mf : quad\n{expected}# file parts/quads\npart manifold quad {{ ports 4, rating 30 psi psi }}\n"
    );
    assert_eq!(
        said(&part),
        [
            "what holds when c101 breaks at 2.1 km and in 2 other states is not checked: something of the part `quad` cannot be read"
        ]
    );
}

#[test]
fn what_is_not_known_over_time_is_said() {
    let run = "# without air d1\nother x1 { is \"chest of gel\" }\n\
               air d1 -> r1 -> f1 -> x1 -> mf with 3/8 in tube, 1/4 in bore, 4 m\n\
               when r1 has set 9 psi expect c101 above 2 psi for 1 h\n";
    assert_eq!(
        said(run),
        [
            "whether `c101 above 2 psi for 1 h` holds when r1 has set 9 psi is not checked: a place or a figure that it needs is not known"
        ]
    );
    let tank = "tank tk { volume 0.1 m3, rating 60 psi }\nvalve v1 { function shut-off, stands closed }\n\
                # without spare mf port 3\nair mf port 3 -> v1 -> tk with 3/8 in tube, 1/4 in bore, 4 m\nspare mf port 4\n\
                when v1 opens expect c101 above 2 psi for 1 h\n";
    assert_eq!(
        said(tank),
        [
            "whether `c101 above 2 psi for 1 h` holds when v1 opens is not checked: the normal pressure of `tk` is not known, or not above \
             that of the surrounding air"
        ]
    );
}

#[test]
fn a_pressure_that_does_not_last_is_told_with_its_time() {
    // It loses 7 scfh of some 25 standard cubic feet.
    let found = said("when d1 stops expect c101 above 3 psi for 100 h\n");
    assert_eq!(found.len(), 1, "{found:?}");
    for part in [
        " falls after ",
        " h below the 3 psi that is expected, and is 0 psi after 100 h",
    ] {
        assert!(found[0].contains(part), "{found:?}");
    }
}

#[test]
fn no_alarm_is_judged_by_pressures_and_flows() {
    // A contact without a set point, as that of humidity or of a door, tells nothing of them.
    let contact = "contact door { is \"door\", healthy closed }\n";
    let kept = "when r1 has set 10 psi expect no alarm\n";
    assert_eq!(said(&(dryer("100 scfh") + contact + kept)), [""; 0]);
    let found = said(&(dryer("100 scfh") + contact + "when d1 stops expect no alarm\n"));
    assert!(found.len() == 1 && found[0].starts_with("when d1 stops, "), "{found:?}");
}

#[test]
fn what_is_before_a_regulator_empties_through_it() {
    let dryer = dryer("100 scfh").replace("humidity {", "low-pressure { limit low 25 psi critical deadband 1 psi,");
    let wire = "# without wire d1\nwire d1 contact low-pressure -> tb pair 1 -> m1 contact 1 with 22 awg, 5 m\n";
    let trips = "when d1 stops expect d1 contact low-pressure trips, d1 contact low-pressure trips within 2 h\n";
    assert_eq!(said(&(dryer + wire + trips)), [""; 0]);
}

#[test]
fn a_pressure_that_a_cut_cable_has_too_is_not_expected() {
    for least in ["0 psi", "97 kPa-abs", "-1 psi"] {
        let text = compose(
            OFFICE,
            &format!("when c101 breaks at 2.1 km expect c101 above {least}\n"),
        );
        let problems = drysheath_fixture::lowered(&text).problems;
        let message = format!("{least} is no more than the pressure of the surrounding air, which a cut cable has too");
        assert!(
            problems.iter().any(|problem| problem.message == message),
            "{least}: {problems:?}"
        );
    }
}

#[test]
fn what_is_below_from_the_beginning_is_told_as_it_is_then() {
    let found = said("when r1 has set 12 psi expect c101 above 9 psi for 20 h\n");
    assert_eq!(
        found,
        [
            "when r1 has set 12 psi, the pressure at 3.2 km on `c101` is 7.562 psi at once, below the 9 psi that is expected"
        ]
    );
}

#[test]
fn what_is_missing_elsewhere_leaves_the_rest_known() {
    // Another air system, of which one section says nothing.
    let other = "dryer d9 { compressor piston, delivers 20 psi, capacity 100 scfh, dew-point -40 degC }\n\
                 cable c9 { pairs 50, gauge 24 awg, rating 20 psi, section s1 { buried 1 km, resistance 0.1 psi/scfh/kft } }\n\
                 air d9 -> c9\n";
    let expected = "when c101 breaks at 2.1 km expect ps1 low, c101 above minimum, all above minimum, c9 above 1 psi\n";
    let found = said(&format!("{other}{expected}"));
    let below = |found: &&String| found.contains(", the pressure ") && found.contains(" on `c101` is 0 psi, below ");
    assert_eq!(found.iter().filter(below).count(), 2, "{found:?}");
    assert!(
        found
            .iter()
            .any(|other| other.starts_with("whether `c9 above 1 psi` holds when "))
            && found.len() == 3,
        "{found:?}"
    );
}

#[test]
fn what_is_cut_off_is_known_whatever_a_regulator_does() {
    // More flows than the regulator is rated for, and nothing is promised of it.
    let overfed = "regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 8 scfh, relief 15 psi }\n";
    let expected = "when c101 breaks at 1 m expect ps1 low, c101 above minimum, f1 high\n";
    let found = said(&format!("{overfed}{expected}"));
    assert_eq!(found.len(), 2, "{found:?}");
    assert!(
        found[0].starts_with("when c101 breaks at 1 m, the pressure ") && found[0].contains(" is 0 psi"),
        "{found:?}"
    );
    assert!(
        found[1].contains("more would flow through `r1` then than its `flow-max`"),
        "{found:?}"
    );
}

#[test]
fn a_hole_is_given_by_its_bore() {
    let holds = "when c101 leaks 2 mm at 1.2 km expect f1 high, c101 above 0.1 psi\n";
    assert_eq!(said(&(dryer("100 scfh") + holds)), [""; 0]);
    let found = said(&(dryer("100 scfh") + "when c101 leaks 0.2 mm at 1.2 km expect f1 high, c101 above 9.9 psi\n"));
    assert_eq!(found.len(), 2, "{found:?}");
}

#[test]
fn over_time_lengths_may_be_in_feet() {
    // In metres these lengths do not add up without rounding.
    let cable = "cable c101 { pairs 50, gauge 24 awg, rating 20 psi
        section s1 { underground 3.9 kft, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh, volume 7 ft3 }
        section s2 { buried 6.6 kft, resistance 0.14 psi/scfh/kft, usage 4 scfh, volume 12 ft3 } }\n";
    let expected = "when d1 stops expect c101 above 1 psi for 1 min, c101 above 1 psi within 1 min\n";
    assert_eq!(said(&(cable.to_owned() + expected)), [""; 0]);
}

#[test]
fn what_is_planned_or_gone_silences_nothing() {
    for stage in ["planned", "disused"] {
        let other = format!("monitor m9 {{ stage {stage}, contacts 4 }}\nvalve v9 {{ stage {stage} }}\n");
        let found = said(&(other + "when d1 stops expect c101 above 9 psi\n"));
        assert!(
            found.len() == 1 && found[0].starts_with("when d1 stops, the pressure "),
            "{stage}: {found:?}"
        );
    }
}
