//! What feeds a thing and what a pressure reaches, in air networks with several sources, rings and wrong directions; and the
//! size of a frame ground.

use std::fmt::Write;

use drysheath_fixture::{lowered, thing};
use drysheath_office::Networks;
use drysheath_prediction::Prediction;
use drysheath_rules::example::{OFFICE, check, compose};
use drysheath_rules::{Inspection, Level, Settings, frame_ground_size};
use expect_test::{Expect, expect};

/// The results of the example office with these statements: message, help, and the other places.
#[expect(clippy::needless_pass_by_value, reason = "expectations are written in place")]
fn gives(statements: &str, expected: Expect) {
    let outcome = check(statements, &Settings::default());
    let mut out = String::new();
    for finding in &outcome.findings {
        writeln!(out, "{}: {}", finding.rule.name(), finding.message).unwrap();
        if let Some(help) = &finding.help {
            writeln!(out, "  {help}").unwrap();
        }
        for related in &finding.related {
            let text = &outcome.texts[related.place.file.0 as usize];
            writeln!(out, "  `{}` {}", related.place.range.of(text), related.label.as_str()).unwrap();
        }
    }
    expected.assert_eq(&out);
}

#[test]
fn the_weakest_thing_behind_a_regulator_is_reported_first() {
    gives(
        "
cable c102 { pairs 50, gauge 24 awg, rating 8 psi, section s1 { buried 0.1 km, resistance 0.14 psi/scfh/kft, usage 0.1 scfh } }
cable c103 { pairs 50, gauge 24 awg, rating 9 psi, section s1 { buried 0.1 km, resistance 0.14 psi/scfh/kft, usage 0.1 scfh } }
air mf port 3 -> c103 with 3/8 in tube, 1/4 in bore, 3 m
air mf port 4 -> c102 with 3/8 in tube, 1/4 in bore, 3 m
spare c102 pair 1 .. 50
spare c103 pair 1 .. 50
# without spare mf
",
        expect![[r#"
            regulator-set-above-rating: `r1` is set to 10 psi, and `c102` downstream is rated for 8 psi; too weak as well: `c103`
              set it below the lowest rating downstream, or give the weak part a regulator of its own
              `rating 8 psi` `c102` is rated for 8 psi
              `rating 9 psi` `c103` is rated for 9 psi
            cable-end-unwatched: no pressure sensor watches the far end of `c102` at 0.1 km
              put a pressure sensor with a low limit at its end, or at least at 0.09 km
            cable-end-unwatched: no pressure sensor watches the far end of `c103` at 0.1 km
              put a pressure sensor with a low limit at its end, or at least at 0.09 km
        "#]],
    );
}

#[test]
fn what_is_behind_a_second_regulator_does_not_count_for_the_first() {
    gives(
        "
cable c102 { pairs 50, gauge 24 awg, rating 8 psi, section s1 { buried 0.1 km, resistance 0.14 psi/scfh/kft, usage 0.1 scfh } }
regulator r2 { set 5 psi, differential 2 psi, relief 7 psi }
air mf port 3 -> r2 -> c102 with 3/8 in tube, 1/4 in bore, 3 m
spare c102 pair 1 .. 50
# without spare mf
spare mf port 4
",
        expect![[r#"
            cable-end-unwatched: no pressure sensor watches the far end of `c102` at 0.1 km
              put a pressure sensor with a low limit at its end, or at least at 0.09 km
        "#]],
    );
}

#[test]
fn a_sensor_must_stand_the_higher_of_set_pressure_and_relief() {
    let sensor = |proof: &str, relief: &str| {
        format!(
            "
pressure-sensor p1 {{ span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, normal 10 psi, proof {proof}, limit low 8 psi major deadband 0.3 psi }}
regulator r1 {{ set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh{relief} }}
"
        )
    };
    gives(
        &sensor("14 psi", ", relief 15 psi"),
        expect![[r#"
            proof-below-source: `p1` has a proof pressure of 14 psi, and the relief of `r1` opens at 15 psi, which can reach it
              choose a sensor with a higher proof pressure, or limit the pressure upstream of it
              `relief 15 psi` the pressure that can reach it
        "#]],
    );
    gives(&sensor("15 psi", ", relief 15 psi"), expect![[""]]);
    gives(
        &sensor("11 psi", ""),
        expect![[r#"
        relief-missing: `r1` has no relief: if it sticks open, 30 psi from `d1` reaches `p1`, which is rated for 11 psi; too weak as well: `c101`
          fit a relief that opens above 10 psi and not above 11 psi, and state it: `relief`
          `delivers        30 psi` the pressure that can reach it
          `proof 11 psi` `p1` is rated for 11 psi
          `rating          20 psi` `c101` is rated for 20 psi
    "#]],
    );
    gives(
        &sensor("9.5 psi", ", relief 9 psi"),
        expect![[r#"
            regulator-set-above-rating: `r1` is set to 10 psi, and `p1` downstream is rated for 9.5 psi
              set it below the lowest rating downstream, or give the weak part a regulator of its own
              `proof 9.5 psi` `p1` is rated for 9.5 psi
        "#]],
    );
}

#[test]
fn a_sensor_behind_a_ring_of_tubes_has_the_sources_before_it() {
    gives(
        "
manifold ma { ports 4, rating 30 psi }
manifold mb { ports 4, rating 30 psi }
pressure-sensor p2 { span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, normal 10 psi, proof 12 psi, limit low 8 psi major deadband 0.3 psi }
air mf port 3 -> ma with 3/8 in tube, 1/4 in bore, 1 m
air mf port 4 -> mb with 3/8 in tube, 1/4 in bore, 1 m
air ma port 1 -> mb port 1 with 3/8 in tube, 1/4 in bore, 1 m
air mb port 2 -> p2 with 1/4 in tube, 0.17 in bore, 0.5 m
wire p2 -> tb pair 5 -> m1 sensor 4 with 22 awg, 8 m
# without spare mf
# without spare tb
# without spare m1 sensor
spare tb pair 6 .. 25
spare m1 sensor 5 .. 8
spare ma port 2 .. 4
spare mb port 3 .. 4
",
        expect![[r#"
            proof-below-source: `p2` has a proof pressure of 12 psi, and the relief of `r1` opens at 15 psi, which can reach it
              choose a sensor with a higher proof pressure, or limit the pressure upstream of it
              `relief          15 psi` the pressure that can reach it
            loop-without-valve: this run closes a loop through `ma`, `mf` and `mb` with no valve in it
              put a shut-off or check valve into one of its runs, or take one run away
        "#]],
    );
}

#[test]
fn a_regulator_whose_runs_come_to_its_outlet_stands_backwards() {
    gives(
        "
air d1 -> r1 outlet with 3/8 in tube, 1/4 in bore, 4 m
air r1 inlet -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
# without air d1
",
        expect![[r#"
            regulator-backwards: `r1` is installed backwards: air goes in by its inlet and out by its outlet, the way the arrows point
              lead the run from the dryer to its inlet, and from its outlet to what it feeds
              `r1` the regulator
        "#]],
    );
    gives(
        "
air d1 -> r1 with 3/8 in tube, 1/4 in bore, 4 m
air r1 inlet -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
# without air d1
",
        expect![[r#"
            outlet-open: outlet 1 of `r1` is neither used nor declared spare: it lets air out
              plug what is not used and declare it: `spare r1 outlet …`
            air-ports-doubled: the inlet of `r1` has another run already
              take one of the runs to another port, or declare the manifold that joins them
              `r1 inlet` the inlet of `r1` is used by the run from `r1 inlet` to `mf`
            regulator-backwards: `r1` is installed backwards: air goes in by its inlet and out by its outlet, the way the arrows point
              lead the run from the dryer to its inlet, and from its outlet to what it feeds
              `r1` the regulator
        "#]],
    );
}

#[test]
fn where_no_air_comes_the_help_says_what_to_draw() {
    // A sensor that stands nowhere, a valve before the cable, and a run whose arrow is wrong.
    gives(
        "
pressure-sensor p2 { span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, normal 10 psi, proof 30 psi, limit low 8 psi major deadband 0.3 psi }
wire p2 -> tb pair 5 -> m1 sensor 4 with 22 awg, 8 m
# without spare tb
# without spare m1 sensor
spare tb pair 6 .. 25
spare m1 sensor 5 .. 8
",
        expect![[r#"
            air-missing: no air comes to the pressure-sensor `p2`
              draw the air run that leads to it, `air … -> p2`, or say where on a cable it is with `at`
        "#]],
    );
    gives(
        "
valve v1 { function shut-off }
air v1 -> c101 with 3/8 in tube, 1/4 in bore, 3 m
spare mf port 1
# without air mf port 1
",
        expect![[r#"
            normal-not-as-predicted: `f1` has a normal reading of 7 scfh, and 0 scfh follows from the record: 7 scfh apart, where the sensor's error and half its step allow 0.4 scfh
              correct the normal reading, or the set pressure, tubes, resistance and usage upstream in the record
            air-missing: no air comes to the valve `v1`
              draw the air run that leads to it, `air … -> v1`
        "#]],
    );
    gives(
        "
cable c102 { pairs 50, gauge 24 awg, rating 20 psi, section s1 { buried 0.1 km, resistance 0.14 psi/scfh/kft, usage 0.1 scfh } }
air c102 -> mf port 3 with 3/8 in tube, 1/4 in bore, 3 m
spare c102 pair 1 .. 50
# without spare mf
spare mf port 4
",
        expect![[r#"
            air-missing: no air comes to the cable `c102`
              an arrow points the way the air goes: if the air comes from `mf`, write that end first
              `c102 -> mf port 3` this run leads away from it
        "#]],
    );
    // What stands at a cable without air is not reported besides.
    gives(
        "
spare mf port 1
# without air mf port 1
",
        expect![[r#"
            normal-not-as-predicted: `f1` has a normal reading of 7 scfh, and 0 scfh follows from the record: 7 scfh apart, where the sensor's error and half its step allow 0.4 scfh
              correct the normal reading, or the set pressure, tubes, resistance and usage upstream in the record
            air-missing: no air comes to the cable `c101`
              draw the air run that leads to it, `air … -> c101`
        "#]],
    );
}

#[test]
fn what_shuts_the_air_off_is_named_where_it_is_directly_upstream() {
    let behind = |valve: &str, run: &str| format!("\n{valve}\n{run}\n# without air mf port 2\n");
    let to_p1 = "air mf port 2 -> v1 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 m";
    gives(
        &behind("valve v1 { function shut-off, stands closed, rating 30 psi }", to_p1),
        expect![[r#"
        air-missing: no air comes to the pressure-sensor `p1`: the valve `v1` upstream of it stands closed
          declare it `stands open`, or route the air another way
          `stands closed` `v1` stands closed
    "#]],
    );
    gives(
        &behind(
            "valve v1 { function check, rating 30 psi }",
            "air mf port 2 -> v1 outlet with 1/4 in tube, 0.17 in bore, 0.3 m\n\
             air v1 inlet -> p1 with 1/4 in tube, 0.17 in bore, 0.2 m",
        ),
        expect![[r#"
            air-missing: no air comes to the pressure-sensor `p1`: the valve `v1` upstream of it lets no air through from its outlet to its inlet
              lead the run to its inlet, and from its outlet to what it feeds
              `v1` `v1` lets no air through from its outlet to its inlet
        "#]],
    );
    // Of two closed valves in a row it is the first that shuts the second off.
    gives(
        &behind(
            "valve v1 { function shut-off, stands closed, rating 30 psi }\n\
             valve v2 { function shut-off, stands closed, rating 30 psi }",
            "air mf port 2 -> v1 -> v2 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 m",
        ),
        expect![[r#"
            air-missing: no air comes to the valve `v2`: the valve `v1` upstream of it stands closed
              declare it `stands open`, or route the air another way
              `stands closed` `v1` stands closed
        "#]],
    );
    // One that cannot be read may be open.
    gives(
        &behind("valve v1 { function shut-off, stands clsed, rating 30 psi }", to_p1),
        expect![[r#"
        value-unreadable: `stands` expects one of `open`, `closed`, found `clsed`
    "#]],
    );
}

#[test]
fn a_cable_that_may_only_carry_pairs_is_a_warning() {
    let leased = |rating: &str| {
        format!(
            "\ncable c102 {{ pairs 25, gauge 24 awg,{rating} section s1 {{ buried 1 km }} }}\nspare c102 pair 1 .. 25\n"
        )
    };
    gives(
        &leased(""),
        expect![[r#"
            air-missing: no air comes to the cable `c102`
              draw the air run that leads to it; if it only carries pairs, as leased or filled cable does, accept this
        "#]],
    );
    let level = |statements: &str| {
        let outcome = check(statements, &Settings::default());
        outcome.findings.iter().map(|finding| finding.level).collect::<Vec<_>>()
    };
    assert_eq!(level(&leased("")), [Level::Warning]);
    // A rating is of cable under pressure.
    gives(
        &leased(" rating 20 psi,"),
        expect![[r#"
        air-missing: no air comes to the cable `c102`
          draw the air run that leads to it, `air … -> c102`
        cable-end-unwatched: no pressure sensor watches the far end of `c102` at 1 km
          put a pressure sensor with a low limit at its end, or at least at 0.9 km
        field-missing: section `s1` has no `resistance`
          an installed office needs the whole record
    "#]],
    );
    assert_eq!(level(&leased(" rating 20 psi,"))[0], Level::Error);
}

/// The size that is asked of the frame ground of `m1`, mm².
fn frame_ground(statements: &str) -> Option<f64> {
    let office = lowered(&compose(OFFICE, statements));
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    let settings = Settings::default();
    let inspection = Inspection::new(&office, &networks, &prediction, &settings);
    frame_ground_size(&inspection, thing(&office, "m1")).map(|size| size.square_metres() * 1e6)
}

#[test]
fn a_frame_ground_has_the_size_that_its_maker_or_its_fuse_asks_for() {
    let monitor = |size: &str| format!("monitor m1 {{ sensors 8, contacts 4, draws 40 W{size} }}\n");
    let near = |size: Option<f64>, expected: f64| assert!((size.unwrap() - expected).abs() < 0.01, "{size:?}");
    // 6 AWG is 13.30 mm², 10 AWG 5.26 mm² and 14 AWG 2.08 mm² (ASTM B258); NEC Table 250.122 has 10 AWG behind 30 A,
    // 8 AWG if the feed is 8 AWG (8.37 mm²) where 10 would do (250.122(B)), and 14 AWG at least.
    near(frame_ground(""), 13.30);
    let feed = "power pdf fuse 1 -> m1 with 30 A, 8 awg, 6 m\n";
    near(frame_ground(&(monitor("") + &feed.replace('8', "10"))), 5.26);
    near(frame_ground(&(monitor("") + feed)), 8.37);
    near(frame_ground(&monitor("")), 2.08);
    near(
        frame_ground(&(monitor("") + "power pdf fuse 1 -> m1 with 14 awg, 6 m\n")),
        2.08,
    );
    assert_eq!(frame_ground(&(monitor(", ground-size 6 parsecs") + feed)), None);
}
