//! Rules about spans, regulators and air: one mistake gives one result, at the place where it is mended.

use drysheath_rules::example::{Outcome, check};
use drysheath_rules::{Level, Settings};

/// The results of an example, each as its rule and the text that it marks, however that is laid out.
fn results(outcome: &Outcome) -> Vec<(&str, String)> {
    let shown = outcome.findings.iter().map(|finding| {
        let text = &outcome.texts[finding.place.file.0 as usize];
        let words: Vec<_> = finding.place.range.of(text).split_whitespace().collect();
        (finding.rule.name(), words.join(" "))
    });
    shown.collect()
}

fn assert_results_with(example: &str, settings: &Settings, expected: &[(&str, &str)]) {
    let outcome = check(example, settings);
    let found = results(&outcome);
    let found: Vec<_> = found.iter().map(|(rule, text)| (*rule, text.as_str())).collect();
    assert_eq!(found, expected);
}

fn assert_results(example: &str, expected: &[(&str, &str)]) {
    assert_results_with(example, &Settings::default(), expected);
}

#[test]
fn an_office_without_a_dryer_says_so_once() {
    assert_results(
        r"
# without dryer d1
air r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
# without air d1
# without ground d1
# without wire d1
spare tb pair 4
spare m1 contact 1
",
        &[("air-missing", "r1")],
    );
}

#[test]
fn an_arrow_against_the_air_is_found_where_the_air_is_missing() {
    assert_results(
        r"
air c101 -> mf port 1 with 3/8 in tube, 1/4 in bore, 3 m
# without air mf port 1
",
        &[("air-missing", "c101")],
    );
}

#[test]
fn things_that_feed_one_another_in_a_circle_are_reported_once() {
    assert_results(
        r"
valve v1 { function shut-off }
valve v2 { function shut-off }
air v1 -> v2 with 3/8 in tube, 1/4 in bore, 1 m
air v2 -> v1 with 3/8 in tube, 1/4 in bore, 1 m
",
        &[("air-missing", "v1")],
    );
}

#[test]
fn two_dryers_on_one_manifold_are_fine() {
    assert_results(
        r#"
accept dryer-without-contact on d2 because "it has none" until 2027-01-01
dryer d2 { compressor rotary, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }
ground d2 frame -> ogb with 10 awg, 4 m
valve v1 { function check }
valve v2 { function check }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
manifold m9 { ports 1 }
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
# without air d1
"#,
        &[],
    );
}

#[test]
fn dryers_that_feed_the_same_cables_add_up() {
    assert_results(
        r#"
dryer d1 { compressor piston, delivers 30 psi, capacity 4 scfh, dew-point -40 degC, contact humidity { healthy closed } }
accept dryer-without-contact on d2 because "it has none" until 2027-01-01
dryer d2 { compressor rotary, delivers 30 psi, capacity 4 scfh, dew-point -40 degC }
ground d2 frame -> ogb with 10 awg, 4 m
manifold m9 { ports 1 }
valve v1 { function check }
valve v2 { function check }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
"#,
        &[("dryer-margin-short", "capacity 4 scfh")],
    );
}

#[test]
fn a_set_pressure_with_a_digit_too_many() {
    assert_results(
        r"
regulator r1 { set 100 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 15 psi }
",
        &[("regulator-set-above-rating", "set 100 psi")],
    );
}

#[test]
fn a_relief_with_a_digit_too_many() {
    assert_results(
        r"
regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 150 psi }
",
        &[("relief-misplaced", "relief 150 psi")],
    );
}

#[test]
fn a_set_pressure_too_near_the_supply() {
    assert_results(
        r"
regulator r1 { set 28 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 30 psi }
cable c101 { pairs 50, gauge 24 awg, section s1 { underground 1.2 km, resistance 0.09 psi/scfh/kft, usage 3 scfh }, section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh } }
",
        &[("regulator-set-above-supply", "set 28 psi")],
    );
}

#[test]
fn a_delivery_with_a_digit_too_many() {
    assert_results(
        r"
dryer d1 { compressor piston, delivers 300 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
",
        &[("regulator-inlet-over-max", "inlet-max 60 psi")],
    );
}

#[test]
fn the_second_signal_of_a_sensor_has_a_span_of_its_own() {
    assert_results(
        r"
flow-sensor f1 {
    span  0 .. 15 scfh
    step  0.2 scfh
    error 0.3 scfh
    normal 7 scfh
    proof 60 psi
    limit high 10 scfh major deadband 0.6 scfh
    pressure { span 15 .. 0 psi, step 0.1 psi, limit low 8 psi major deadband 0.3 psi }
}
wire f1 pressure -> tb pair 5 -> m1 sensor 4
spare tb pair 6 .. 25
spare m1 sensor 5 .. 8
# without spare tb
# without spare m1 sensor
",
        &[("span-empty", "span 15 .. 0 psi")],
    );
}

#[test]
fn the_second_signal_of_a_sensor_has_limits_of_its_own() {
    assert_results(
        r"
flow-sensor f1 {
    span  0 .. 15 scfh
    step  0.2 scfh
    error 0.3 scfh
    normal 7 scfh
    proof 60 psi
    limit high 10 scfh major deadband 0.6 scfh
    pressure { span 0 .. 15 psi, step 0.1 psi, normal 9 psi, error 0.1 psi, limit low 16 psi minor deadband 0.3 psi, limit low-low 8.95 psi major deadband 0.3 psi, limit high 15 psi minor deadband 0.3 psi, limit high-high 14.95 psi major deadband 0.3 psi  }
}
wire f1 pressure -> tb pair 5 -> m1 sensor 4
spare tb pair 6 .. 25
spare m1 sensor 5 .. 8
# without spare tb
# without spare m1 sensor
",
        &[
            ("limit-outside-span", "limit low 16 psi minor deadband 0.3 psi"),
            ("deadband-past-normal", "limit low-low 8.95 psi major deadband 0.3 psi"),
            (
                "limits-out-of-order",
                "limit high-high 14.95 psi major deadband 0.3 psi",
            ),
        ],
    );
}

#[test]
fn places_branches_and_sensors_beyond_the_end() {
    assert_results(
        r"
cable c101 {
    pairs 50
    gauge 24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
    branch b1 { from 3.5 km, section x1 { aerial 3000 ft, resistance 0.1 psi/scfh/kft, usage 0.5 scfh } }
    place mh { at 5 km }
}
pressure-sensor ps2 { at c101 branch b1 4000 ft, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, limit low 1 psi minor deadband 0.3 psi }
pressure-sensor ps3 { at c101 place mh, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, limit low 4 psi minor deadband 0.3 psi }
wire ps2 -> c101 pair 38 -> tb pair 5 -> m1 sensor 4
wire ps3 -> c101 pair 39 -> tb pair 6 -> m1 sensor 5
spare tb pair 7 .. 25
spare m1 sensor 6 .. 8
spare c101 pair 40 .. 50
# without spare tb
# without spare m1 sensor
# without spare c101 pair 38
",
        &[
            ("sensor-beyond-cable", "from 3.5 km"),
            ("sensor-beyond-cable", "at 5 km"),
            ("sensor-beyond-cable", "at c101 branch b1 4000 ft"),
        ],
    );
}

#[test]
fn a_branch_has_an_end_of_its_own() {
    assert_results(
        r"
cable c101 {
    pairs 50
    gauge 24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
    branch b1 { from 1.5 km, section x1 { aerial 3000 ft, resistance 0.1 psi/scfh/kft, usage 0.3 scfh } }
}
",
        &[("cable-end-unwatched", "b1")],
    );
}

#[test]
fn huge_counts_are_ranges() {
    assert_results(
        r"
regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 15 psi, outlets 199 }
spare r1 outlet 7 .. 12
manifold mf { ports 200, rating 30 psi }
",
        &[("outlet-open", "outlets 199"), ("manifold-port-open", "ports 200")],
    );
}

#[test]
fn a_spare_outlet_that_there_is_not() {
    assert_results(
        r"
regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 15 psi, outlets 2 }
spare r1 outlet 2 .. 3
",
        &[("spare-out-of-range", "outlet 2 .. 3")],
    );
}

#[test]
fn a_sensor_on_a_run_from_a_place_stands_there() {
    assert_results(
        r"
cable c101 {
    pairs 50
    gauge 24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh, minimum 4 psi }
    place mh { at 1 km }
}
pressure-sensor ps1 { span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, limit low 4 psi minor deadband 0.3 psi }
air c101 place mh -> ps1 with 3/8 in tube, 1/4 in bore, 1 m
",
        &[
            ("cable-end-unwatched", "c101"),
            ("low-limit-under-minimum", "limit low 4 psi minor deadband 0.3 psi"),
        ],
    );
}

#[test]
fn a_sensor_on_a_run_from_the_end_sees_the_end() {
    assert_results(
        r"
pressure-sensor ps1 { span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, limit low 3 psi minor deadband 0.3 psi }
air c101 end -> ps1 with 3/8 in tube, 1/4 in bore, 1 m
",
        &[("low-limit-under-minimum", "limit low 3 psi minor deadband 0.3 psi")],
    );
}

#[test]
fn a_dryer_behind_its_regulator() {
    assert_results(
        r"
air f1 -> r1 -> d1 outlet with 3/8 in tube, 1/4 in bore, 4 m
air r1 -> mf with 3/8 in tube, 1/4 in bore, 1 m
# without air d1
",
        &[("regulator-backwards", "r1"), ("air-ports-doubled", "r1")],
    );
}

#[test]
fn each_loop_is_reported_once() {
    assert_results(
        r"
air mf port 3 -> c101 end with 3/8 in tube, 1/4 in bore, 3 m
air mf port 4 -> c101 end with 3/8 in tube, 1/4 in bore, 3 m
air f1 outlet -> f1 inlet
# without spare mf
",
        &[
            ("cable-end-unwatched", "c101"),
            ("loop-without-valve", "mf port 3 -> c101 end"),
            ("loop-without-valve", "mf port 4 -> c101 end"),
            ("air-ports-doubled", "f1 inlet"),
        ],
    );
}

#[test]
fn each_run_reports_its_first_joint() {
    assert_results(
        r"
regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, relief 15 psi, inlet 1/4 in compression, outlet 1/4 in npt male }
flow-sensor f1 { span 0 .. 15 scfh, step 0.2 scfh, error 0.3 scfh, normal 7 scfh, proof 60 psi, limit high 10 scfh major deadband 0.6 scfh, inlet 1/4 in npt male, outlet 10 mm push-in }
air d1 -> r1 with 3/8 in tube, 1/4 in bore, 1 m
air r1 -> f1
air f1 -> mf with 3/8 in tube, 1/4 in bore, 1 m
",
        &[
            ("fittings-do-not-mate", "r1"),
            ("fittings-do-not-mate", "f1"),
            ("fittings-do-not-mate", "f1"),
        ],
    );
}

#[test]
fn threads_that_mate_directly_need_no_adapter() {
    assert_results(
        r"
regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, relief 15 psi, outlet 1/4 in npt male }
flow-sensor f1 { span 0 .. 15 scfh, step 0.2 scfh, error 0.3 scfh, normal 7 scfh, proof 60 psi, limit high 10 scfh major deadband 0.6 scfh, inlet 1/4 in npt female, outlet 3/8 in push-in }
",
        &[],
    );
}

#[test]
fn one_regulator_would_mend_both() {
    assert_results(
        r"
flow-sensor f2 { span 0 .. 15 scfh, step 0.2 scfh, error 0.3 scfh, normal 7 scfh, proof 60 psi, limit high 10 scfh major deadband 0.6 scfh }
wire f2 flow -> tb pair 5 -> m1 sensor 4
spare tb pair 6 .. 25
spare m1 sensor 5 .. 8
# without spare tb
# without spare m1 sensor
manifold m0 { ports 2 }
air d1 -> m0 with 3/8 in tube, 1/4 in bore, 1 m
air m0 port 1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
air m0 port 2 -> f2 -> mf with 3/8 in tube, 1/4 in bore, 1 m
# without regulator r1
",
        &[("regulator-missing", "d1"), ("loop-without-valve", "f2 -> mf")],
    );
}

#[test]
fn a_run_said_twice() {
    assert_results(
        r"
air mf port 1 -> c101 with 3/8 in tube, 1/4 in bore, 3 m
air mf port 1 -> c101 with 3/8 in tube, 1/4 in bore, 3 m
",
        &[("air-ports-doubled", "mf port 1")],
    );
}

#[test]
fn two_runs_to_one_inlet_are_no_loop_besides() {
    assert_results(
        r"
air mf port 3 -> c101 with 3/8 in tube, 1/4 in bore, 3 m
spare mf port 4
# without spare mf
",
        &[("air-ports-doubled", "c101")],
    );
}

#[test]
fn a_regulator_named_alone_means_its_first_outlet() {
    assert_results(
        r"
air d1 -> r1 with 3/8 in tube, 1/4 in bore, 1 m
air r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 3 m
",
        &[],
    );
}

#[test]
fn a_sensor_out_on_a_cable_sees_the_relief() {
    assert_results(
        r"
pressure-sensor ps1 { at c101 3.2 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 12 psi, limit low 6.7 psi minor deadband 0.3 psi }
",
        &[("proof-below-source", "proof 12 psi")],
    );
}

#[test]
fn the_strongest_of_two_sources_counts() {
    assert_results(
        r"
air d1 -> p1 with 3/8 in tube, 1/4 in bore, 1 m
pressure-sensor p1 { span 0 .. 40 psi, step 0.1 psi, error 0.2 psi, normal 30 psi, proof 25 psi, limit low 20 psi major deadband 0.3 psi }
spare mf port 2
air d1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
# without air mf port 2
",
        &[("proof-below-source", "proof 25 psi")],
    );
}

#[test]
fn a_pipe_has_usage_places_and_a_minimum() {
    assert_results(
        r"
air-pipe ap1 { length 2 km, bore 1 in, usage 1 scfh, minimum 6 psi, rating 20 psi, place mh { at 2.5 km }, place mi { at 1 km } }
air mf port 3 -> ap1 with 3/8 in tube, 1/4 in bore, 1 m
cable c9 { pairs 1, gauge 24 awg, section s1 { aerial 1 km, resistance 0.1 psi/scfh/kft, usage 0.5 scfh } }
dryer d1 { compressor piston, delivers 30 psi, capacity 10 scfh, dew-point -40 degC, contact humidity { healthy closed } }
flow-sensor f1 { span 0 .. 15 scfh, step 0.2 scfh, error 0.3 scfh, normal 8.5 scfh, proof 60 psi, limit high 10 scfh major deadband 0.6 scfh }
air ap1 place mi -> c9 with 3/8 in tube, 1/4 in bore, 1 m
spare c9 pair 1
spare mf port 4
# without spare mf
pressure-sensor ps9 { at ap1 1 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, limit low 5 psi minor deadband 0.3 psi }
wire ps9 -> tb pair 5 -> m1 sensor 4
spare tb pair 6 .. 25
spare m1 sensor 5 .. 8
# without spare tb
# without spare m1 sensor
",
        &[
            ("sensor-beyond-cable", "at 2.5 km"),
            ("cable-end-unwatched", "c9"),
            ("dryer-margin-short", "capacity 10 scfh"),
            ("low-limit-under-minimum", "limit low 5 psi minor deadband 0.3 psi"),
        ],
    );
}

#[test]
fn what_a_part_says_is_reported_at_the_thing() {
    let example = r"
use parts/sensors
pressure-sensor p1 : line { limit low 8 psi major deadband 0.3 psi }
# file parts/sensors
part pressure-sensor line { span 15 .. 0 psi, step 0.1 psi, error 0.2 psi, normal 10 psi, proof 30 psi }
";
    let outcome = check(example, &Settings::default());
    assert_eq!(results(&outcome), [("span-empty", "p1".to_owned())]);
    let places: Vec<_> = outcome
        .findings
        .iter()
        .flat_map(|finding| &finding.related)
        .map(|it| it.place)
        .collect();
    let shown: Vec<_> = places
        .iter()
        .map(|place| place.range.of(&outcome.texts[place.file.0 as usize]))
        .collect();
    assert_eq!(shown, ["span 15 .. 0 psi"]);
    assert!(outcome.findings.iter().all(|finding| finding.fix.is_none()));
}

#[test]
fn absolute_pressures_are_compared_at_the_height_of_the_office() {
    // At 310 m the air has 14.16 psi: 24.3 psia is 10.1 psi, above the 10 psi that the sensor reads on a good day.
    let sensor = |low: &str| {
        format!(
            "pressure-sensor p1 {{ span 0 .. 20 psi, step 0.01 psi, error 0.04 psi, normal 10 psi, proof 30 psi, \
             limit low {low} major deadband 0.05 psi }}"
        )
    };
    assert_results(&sensor("24.1 psia"), &[]);
    assert_results(
        &sensor("24.3 psia"),
        &[("limits-out-of-order", "limit low 24.3 psia major deadband 0.05 psi")],
    );
}

#[test]
fn a_minimum_may_come_from_the_settings() {
    let example = "office elm-hollow { title \"Elm Hollow\", site \"ELMH01\", elevation 310 m, stage installed, coldest -25 degC }";
    assert_results(example, &[]);
    let (settings, problems) = Settings::read("[practice]\nminimum-buried = \"7 psi\"\n");
    assert_eq!(problems, []);
    let expected = [("low-limit-under-minimum", "limit low 6.7 psi minor deadband 0.3 psi")];
    assert_results_with(example, &settings, &expected);
}

#[test]
fn on_paper_what_is_not_there_yet_weighs_less() {
    let example = r#"
office elm-hollow { title "Elm Hollow", site "ELMH01", elevation 310 m, stage planned, coldest -25 degC }
cable c300 { pairs 25, section s1 { aerial 1 km } }
spare c300 pair 1 .. 25
manifold mf { ports 6, rating 30 psi }
"#;
    let outcome = check(example, &Settings::default());
    let levels: Vec<_> = outcome
        .findings
        .iter()
        .map(|finding| (finding.rule.name(), finding.level))
        .collect();
    assert_eq!(
        levels,
        [("air-missing", Level::Warning), ("manifold-port-open", Level::Note)]
    );
}

#[test]
fn a_run_that_cannot_be_read_makes_nothing_missing() {
    let outcome = check(
        "air mf port 1 -> c1o1 with 3/8 in tube, 1/4 in bore, 3 m\n",
        &Settings::default(),
    );
    let ours = [
        "air-missing",
        "manifold-port-open",
        "outlet-open",
        "cable-end-unwatched",
    ];
    assert!(
        outcome
            .findings
            .iter()
            .all(|finding| !ours.contains(&finding.rule.name()))
    );
}

#[test]
fn a_port_with_a_digit_too_many_leaves_no_port_open_besides() {
    assert_results(
        "air mf port 22 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 m\n# without air mf port 2\n",
        &[("air-port-out-of-range", "mf port 22")],
    );
    assert_results(
        "air d1 -> r1 outlet 2 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m\n",
        &[("air-port-out-of-range", "r1 outlet 2")],
    );
    assert_results(
        "# without spare mf\nspare mf port 2 .. 3\n",
        &[("spare-in-use", "port 2 .. 3")],
    );
}

/// A run from the manifold to the cable with something in it.
fn to_cable(run: &str) -> String {
    format!("{run}\n# without air mf port 1\n")
}

#[test]
fn air_does_not_pass_a_closed_or_a_reversed_valve() {
    let no_air = [("air-missing", "c101")];
    for valve in [
        "valve v1 { function shut-off, stands closed, rating 30 psi }\nair mf port 1 -> v1 -> c101 with 3/8 in tube, 1/4 in bore, 3 m",
        "valve v1 { function check, stands closed, rating 30 psi }\nair mf port 1 -> v1 -> c101 with 3/8 in tube, 1/4 in bore, 3 m",
        "valve v1 { function check, rating 30 psi }\nair mf port 1 -> v1 outlet with 3/8 in tube, 1/4 in bore, 2 m\n\
         air v1 inlet -> c101 with 3/8 in tube, 1/4 in bore, 1 m",
    ] {
        assert_results(&to_cable(valve), &no_air);
    }
    // A shut-off valve may be passed either way.
    assert_results(
        &to_cable(
            "valve v1 { function shut-off, rating 30 psi }\nair mf port 1 -> v1 outlet with 3/8 in tube, 1/4 in bore, 2 m\n\
             air v1 inlet -> c101 with 3/8 in tube, 1/4 in bore, 1 m",
        ),
        &[],
    );
    // One result for all that is cut off.
    assert_results(
        r"
valve v1 { function shut-off, stands closed, rating 30 psi }
air d1 -> r1 -> v1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        &[("air-missing", "f1")],
    );
}

#[test]
fn a_closed_by_pass_around_a_regulator_is_no_source() {
    assert_results(
        r"
manifold m9 { ports 2, rating 30 psi }
valve v9 { function shut-off, stands closed, rating 30 psi }
air d1 -> m9 with 3/8 in tube, 1/4 in bore, 1 m
air m9 port 1 -> r1 -> m8 with 3/8 in tube, 1/4 in bore, 1 m
air m9 port 2 -> v9 -> m8 with 3/8 in tube, 1/4 in bore, 1 m
manifold m8 { ports 1, rating 30 psi }
air m8 port 1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        &[],
    );
}

#[test]
fn cylinders_that_stand_by_have_to_hold_the_regulator() {
    assert_results(
        r"
dryer bank { compressor none, delivers 12 psi, capacity 100 scfh, dew-point -50 degC }
valve v1 { function check }
valve v2 { function check }
manifold m9 { ports 1, rating 30 psi }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air bank -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
ground bank frame -> ogb with 10 awg, 4 m
",
        &[("standby-too-low", "delivers 12 psi")],
    );
}

#[test]
fn an_open_valve_that_leads_nowhere_lets_air_out() {
    let valve = |stands: &str| {
        format!(
            "valve v9 {{ function shut-off, stands {stands}, rating 30 psi }}\n\
             air mf port 3 -> v9 with 3/8 in tube, 1/4 in bore, 1 m\nspare mf port 4\n# without spare mf\n"
        )
    };
    assert_results(&valve("open"), &[("manifold-port-open", "v9")]);
    assert_results(&valve("closed"), &[]);
}

#[test]
fn a_cable_is_watched_where_its_pressure_is_lowest() {
    let both_ends = "valve v9 { function shut-off, rating 30 psi }\n\
                     air mf port 3 -> v9 -> c101 end with 3/8 in tube, 1/4 in bore, 3 m\nspare mf port 4\n# without spare mf\n";
    assert_results(both_ends, &[("cable-end-unwatched", "c101")]);
    // What a leak trips is not asked here.
    let settings = Settings::read("[levels]\nleak-trips-no-limit = \"off\"\n").0;
    let sensor = "pressure-sensor ps1 { at c101 1.7 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, \
                  limit low 8.3 psi minor deadband 0.3 psi }\n";
    assert_results_with(&format!("{both_ends}{sensor}"), &settings, &[]);
}

#[test]
fn a_barb_takes_hose_by_its_bore_and_threads_are_exact() {
    let run = |inlet: &str, with: &str| {
        format!(
            "manifold mf {{ ports 4, rating 30 psi, inlet {inlet} }}\n\
             air d1 -> r1 -> f1 with 3/8 in tube, 1/4 in bore, 3 m\nair f1 -> mf with {with}, 1 m\n# without air d1\n"
        )
    };
    assert_results(&run("1/4 in barb", "3/8 in tube, 1/4 in bore"), &[]);
    assert_results(
        &run("3/8 in barb", "3/8 in tube, 1/4 in bore"),
        &[("fittings-do-not-mate", "mf")],
    );
    let threaded = "3/8 in tube, 1/4 in bore, adapter 8 mm npt male";
    assert_results(&run("8 mm npt female", threaded), &[]);
    assert_results(&run("5/16 in npt female", threaded), &[("fittings-do-not-mate", "mf")]);
}

#[test]
fn a_dew_point_over_ice_is_drier() {
    let dryer = |dew_point: &str| {
        format!(
            "dryer d1 {{ compressor piston, delivers 30 psi, capacity 100 scfh, dew-point {dew_point}, \
             contact humidity {{ healthy closed }} }}\n"
        )
    };
    for wet in ["-20 degC", "-20 degC over water"] {
        assert_results(&dryer(wet), &[("dew-point-above-coldest", &format!("dew-point {wet}"))]);
    }
    assert_results(&dryer("-20 degC over ice"), &[]);
    assert_results(&dryer("5 degC over ice"), &[("value-unreadable", "5 degC over ice")]);
}

#[test]
fn without_a_relief_a_stuck_regulator_passes_its_supply() {
    let bare = "regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh }\n";
    assert_results(bare, &[("relief-missing", "r1")]);
    // The sensor that stands too little as well is part of the same result.
    let weak = "pressure-sensor p1 { span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, normal 10 psi, proof 25 psi, \
                limit low 8 psi major deadband 0.3 psi }\n";
    assert_results(&format!("{bare}{weak}"), &[("relief-missing", "r1")]);
    // What comes to the next regulator is the supply of the first.
    let row = "regulator r2 { set 8 psi, differential 1 psi, inlet-max 20 psi, relief 15 psi }\n\
               air d1 -> r1 -> r2 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m\n\
               pressure-sensor p1 { span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, \
               limit low 7 psi major deadband 0.3 psi }\n\
               pressure-sensor ps1 { at c101 3.2 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, \
               limit low 4.8 psi minor deadband 0.3 psi }\n";
    assert_results(row, &[]);
    assert_results(
        &format!("{bare}{row}"),
        &[("regulator-inlet-over-max", "inlet-max 20 psi")],
    );
}

#[test]
fn a_reading_is_allowed_what_the_declared_figures_are_uncertain_by() {
    let reading = "reading 2026-05-12 f1 8.0 scfh\n";
    assert_results(reading, &[]);
    let exact = Settings::read("[practice]\nusage-within = \"0 %\"\n").0;
    assert_results_with(reading, &exact, &[("reading-off-prediction", "f1 8.0 scfh")]);
    // The far end of the cable in the coldest air, with the least usage and resistance.
    assert_results("reading 2026-05-12 ps1 8 psi\n", &[]);
    assert_results(
        "reading 2026-05-12 ps1 9 psi\n",
        &[("reading-off-prediction", "ps1 9 psi")],
    );
}

#[test]
fn usage_is_declared_for_service_and_a_test_is_made_at_its_own_pressure() {
    // At 4 psi the same leaks lose less than half.
    let test = |pressures: &str| format!("reading 2026-05-12 c101 decay {pressures} over 4 min\n");
    assert_results(&test("9.40 psi .. 9.03 psi"), &[]);
    assert_results(
        &test("4.30 psi .. 3.93 psi"),
        &[("decay-above-usage", "c101 decay 4.30 psi .. 3.93 psi over 4 min")],
    );
    // Read from a gauge with steps of 1 psi this says nothing.
    assert_results(&test("5 psi .. 4 psi"), &[]);
}
