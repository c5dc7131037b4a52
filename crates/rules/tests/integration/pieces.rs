//! Runs that consist of several pieces: what is said of them, and what is not.

use drysheath_fixture::lowered;
use drysheath_office::Networks;
use drysheath_prediction::Prediction;
use drysheath_rules::example::check;
use drysheath_rules::{Settings, example, lint};
use drysheath_text::apply;

#[track_caller]
fn gives(example: &str, expected: &[&str]) {
    let outcome = check(example, &Settings::default());
    let shown = outcome.findings.iter().map(|finding| {
        let written = finding.place.range.of(&outcome.texts[finding.place.file.0 as usize]);
        format!("{} `{written}`: {}", finding.rule.name(), finding.message)
    });
    assert_eq!(shown.collect::<Vec<_>>(), expected, "{example}");
}

#[test]
fn pieces_in_all_media_are_clean() {
    gives(
        "power main -> pdf with 30 A, 6 awg, 5 m then 8 awg, 1 m\n\
         power pdf fuse 1 -> m1 with 3 A, 10 awg, 30 m then 14 awg, 6 m\n\
         ground m1 frame -> ogb with 4 awg, 1 m then 6 awg, 3 m\n\
         air mf port 2 -> p1 with 3/8 in tube, 1/4 in bore, 4 m then reducer, 1/4 in tube, 0.17 in bore, 0.5 m\n\
         wire p1 -> tb pair 2 with 22 awg, 8 m then 24 awg, 2 m\n\
         wire tb pair 2 -> m1 sensor 2\n",
        &[],
    );
}

#[test]
fn a_fuse_is_held_against_the_piece_that_bears_the_least() {
    for pieces in [
        "20 A, 10 awg, 30 m then 14 awg, 6 m",
        "20 A, 14 awg, 6 m then 10 awg, 30 m",
        "20 A, 10 awg, 3 m then 14 awg, 6 m then 12 awg, 3 m",
    ] {
        gives(
            &format!("power pdf fuse 1 -> m1 with {pieces}"),
            &["fuse-above-wire `20 A`: the 20 A fuse is too large for 14 awg wire: at most 15 A by NEC 240.4(D)"],
        );
    }
    // The maker of one piece says less than the table does of the other.
    gives(
        "power pdf fuse 1 -> m1 with 12 A, 10 awg, 6 m, limit 10 A then 14 awg, 6 m",
        &["fuse-above-wire `12 A`: the 12 A fuse is too large for 10 awg wire: its run allows at most 10 A"],
    );
    gives(
        "power pdf fuse 1 -> m1 with 3 A, 22 awg, 1 m, limit 5 A then 14 awg, 6 m",
        &[],
    );
}

#[test]
fn the_smallest_piece_of_a_ground_counts() {
    for pieces in ["6 awg, 1 m then 12 awg, 3 m", "12 awg, 3 m then 6 awg, 1 m"] {
        gives(
            &format!("ground m1 frame -> ogb with {pieces}"),
            &[
                "ground-conductor-small `12 awg`: the frame ground of `m1` is 12 awg, and its maker requires at least 6 awg",
            ],
        );
    }
    // 13 ft together want 26 kcmil, and each of the two alone less.
    gives(
        "ground-bar rack-bar\nground rack-bar -> ogb with 6 awg, 7 ft then 6 awg, 7 ft\n",
        &[
            "ground-conductor-small `6 awg`: the bond from `rack-bar` to `ogb` is 6 awg, and for a bond of 14 ft TIA-607 requires at least 4 awg, 2 kcmil for each foot",
        ],
    );
    gives(
        "ground m1 frame -> ogb with 4 awg, 1 m then 3 m",
        &["ground-run-unsized `m1 frame`: the ground of `m1` does not say the wire size of piece 2"],
    );
    gives(
        "ground m1 frame -> ogb with 4 awg then 3 m",
        &[
            "ground-run-unsized `m1 frame`: the ground of `m1` does not say the length of piece 1 and the wire size of piece 2",
        ],
    );
}

#[test]
fn a_slip_in_a_piece_is_one_result() {
    gives(
        "power pdf fuse 1 -> m1 with 3 A, 10 awg, 30 m then 3 A, 14 awg, 6 m",
        &["value-unreadable `3 A`: a fuse protects all pieces of its run, and this one is in the middle of them"],
    );
    gives(
        "air d1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m then 1/4 in tube, 0.17 in bore, 1 m",
        &["value-unreadable `then`: `then` joins two pieces of a run from one end to another, and this run has 4 ends"],
    );
    gives(
        "power pdf fuse 1 -> m1 with 3 A, 10 awg, 30 m then 14 awg, 6",
        &["unit-missing `6`: `6` has no unit"],
    );
    gives(
        "power pdf fuse 1 -> m1 with 3 A, 10 awg, 30 m then",
        &["statement-unreadable `then`: expected a size or a length after `then`"],
    );
    gives(
        "power pdf fuse 1 -> m1 with 3 A, 10 awg, 30 m 14 awg, 6 m",
        &["value-unreadable `14 awg`: `then` is missing before `14 awg`"],
    );
    gives(
        "power pdf fuse 1 -> m1 with 3 A, 10 awg, 30 m, 14 awg, 6 m",
        &["field-twice `14 awg`: the wire size of this run is given twice"],
    );
    gives(
        "power pdf fuse 1 -> m1 with 3 A, 10 awg, 30 m then 14 awg, 6 m, 7 m",
        &["field-twice `7 m`: the length of this run is given twice"],
    );
}

#[test]
fn the_voltage_drops_of_all_pieces_are_summed() {
    gives("power pdf fuse 1 -> m1 with 3 A, 14 awg, 70 m then 14 awg, 70 m", &[]);
    gives(
        "power pdf fuse 1 -> m1 with 3 A, 14 awg, 70 m then 14 awg, 71 m",
        &[
            "voltage-below-window `14 awg, 71 m`: `m1` works down to -40.5 V, but gets -40.497 V at the end of discharge (-43 V at the battery), with wires at 40 degC",
        ],
    );
}

#[test]
fn the_office_that_the_damage_is_done_to_is_clean() {
    let office = lowered(include_str!("damage/pieces.office"));
    let found = lint(&office, &Settings::default(), example::TODAY);
    let shown: Vec<_> = found.iter().map(|it| (it.rule.name(), it.message.as_str())).collect();
    assert_eq!(shown, []);
}

/// A switch on the cable of the example office.
fn switch(said: &str) -> String {
    format!(
        "pressure-switch sw1 {{ healthy closed, {said}, at c101 1.2 km }}\n\
         wire sw1 -> c101 pair 36 -> tb pair 5 -> m1 contact 2\n\
         # without spare tb\n# without spare c101 pair 1\n# without spare m1 contact\n\
         spare tb pair 6 .. 25\nspare c101 pair 1 .. 35\nspare m1 contact 3 .. 4\n"
    )
}

#[test]
fn the_limit_of_a_switch_is_held_to_the_rules_of_limits() {
    gives(&switch("limit low 6.5 psi minor deadband 0.5 psi"), &[]);
    gives(
        &switch("limit low 9 psi minor deadband 0.5 psi"),
        &[
            "limit-trips-when-well `limit low 9 psi minor deadband 0.5 psi`: `sw1` should see 8.771 psi at 1.2 km on `c101` when all is well, at or below its low limit of 9 psi: this alarm is always on",
        ],
    );
    gives(
        &switch("limit low 2 psi minor deadband 0.5 psi"),
        &[
            "low-limit-under-minimum `limit low 2 psi minor deadband 0.5 psi`: the low limit of `sw1`, 2 psi, is not above 5 psi, the minimum pressure for the underground section `s1` of `c101`: the alarm comes too late",
        ],
    );
    gives(
        &switch("limit low 6.5 psi minor"),
        &[
            "limit-without-deadband `limit low 6.5 psi minor`: the low limit of `sw1`, 6.5 psi, has no deadband: a reading that stays near it raises and clears the alarm again and again",
        ],
    );
    gives(
        &switch("limit low 6.5 psi minor deadband 3 psi"),
        &[
            "deadband-past-normal `limit low 6.5 psi minor deadband 3 psi`: the low limit of `sw1`, 6.5 psi, has a deadband of 3 psi: the alarm clears above 9.5 psi only, and `sw1` should see 8.771 psi at 1.2 km on `c101`",
        ],
    );
    gives(
        &switch("reports \"no air\""),
        &["field-missing `sw1`: pressure-switch `sw1` has no `limit`"],
    );
    let on_sensor_input = switch("limit low 6.5 psi minor deadband 0.5 psi")
        .replace("m1 contact 2", "m1 sensor 4")
        .replace(
            "spare m1 contact 3",
            "spare m1 sensor 5 .. 8\n# without spare m1 sensor\nspare m1 contact 2",
        );
    let outcome = check(&on_sensor_input, &Settings::default());
    let rules: Vec<_> = outcome.findings.iter().map(|finding| finding.rule.name()).collect();
    assert_eq!(rules, ["signal-on-wrong-input"]);
}

#[test]
fn a_contact_of_a_dryer_may_say_where_it_switches() {
    let dryer = |limit: &str| {
        format!(
            "dryer d1 {{ compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC\n\
             contact humidity {{ healthy closed }}\ncontact low-pressure {{ healthy closed, {limit} }} }}\n\
             wire d1 contact low-pressure -> tb pair 5 -> m1 contact 2\n\
             # without spare tb\n# without spare m1 contact\nspare tb pair 6 .. 25\nspare m1 contact 3 .. 4\n"
        )
    };
    gives(&dryer("limit low 24 psi major deadband 2 psi"), &[]);
    gives(
        &dryer("limit low 35 psi major deadband 2 psi"),
        &[
            "limit-trips-when-well `limit low 35 psi major deadband 2 psi`: `d1 contact low-pressure` should see 30 psi when all is well, at or below its low limit of 35 psi: this alarm is always on",
        ],
    );
}

#[test]
fn a_milder_limit_of_another_switch_counts() {
    let with = |limit: &str| {
        format!(
            "pressure-switch sw1 {{ healthy closed, at c101 3.2 km, limit low-low {limit} major deadband 0.2 psi }}\n\
             wire sw1 -> c101 pair 36 -> tb pair 5 -> m1 contact 2\n# without spare tb\n# without spare c101 pair 1\n\
             # without spare m1 contact\nspare tb pair 6 .. 25\nspare c101 pair 1 .. 35\nspare m1 contact 3 .. 4\n"
        )
    };
    // `ps1` stands there too, with a low limit of 6.7 psi.
    gives(&with("6.4 psi"), &[]);
    gives(
        &with("7 psi"),
        &[
            "second-limit-alone `limit low-low 7 psi major deadband 0.2 psi`: `sw1` has a low-low limit, 7 psi, and no low limit that trips before it",
        ],
    );
}

#[test]
fn bottles_stand_where_a_dryer_stands() {
    // Bottles alone: no compressor, no frame to ground, no capacity, but a contact, and some days until they are empty.
    let alone = |bottles: &str, spare: &str| {
        format!(
            "# without dryer d1\n# without ground d1\n# without wire d1\n# without air d1\n# without spare tb\n\
             # without spare m1 contact\nbottle n1 {{ holds 230 scf, delivers 40 psi, {bottles} }}\n\
             tank tk1 {{ volume 60 gal, rating 125 psi }}\n\
             air n1 -> tk1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m\n{spare}"
        )
    };
    let wired = "wire n1 contact low -> tb pair 4 -> m1 contact 1\nspare tb pair 5 .. 25\nspare m1 contact 2 .. 4\n";
    let unwired = "spare tb pair 4 .. 25\nspare m1 contact 1 .. 4\n";
    gives(&alone("bottles 6, contact low { healthy closed }", wired), &[]);
    gives(
        &alone("bottles 2, contact low { healthy closed }", wired),
        &[
            "bottles-soon-empty `holds 230 scf`: `n1` is all that feeds these cables, which use 7 scfh: full, it lasts 2.7 d, and must last 7 d",
        ],
    );
    gives(
        &alone("bottles 6", unwired),
        &[
            "bottles-without-contact `n1`: nothing but bottles feeds this office, and `n1` has no contact that reports when it runs low",
        ],
    );
    gives(
        &alone(
            "bottles 6, contact low { healthy closed }",
            &format!("spare n1 contact low\n{unwired}"),
        ),
        &[
            "bottles-without-contact `contact low`: nothing but bottles feeds this office, and every contact of `n1` is declared spare",
        ],
    );
    // Beside a dryer they stand by.
    let beside = |valve: &str| {
        format!(
            "bottle n1 {{ holds 230 scf, delivers 20 psi }}\nvalve v1 {{ function check }}\nvalve v2 {{ function {valve} }}\n\
             manifold m9 {{ ports 2, rating 60 psi }}\n\
             air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m\n\
             air n1 -> v2 -> m9 port 2 with 3/8 in tube, 1/4 in bore, 4 m\n\
             air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m\n"
        )
    };
    gives(&beside("check"), &[]);
    // Opened by hand when the dryer stops.
    gives(&beside("shut-off, stands closed"), &[]);
    let delivering = |psi: &str| beside("check").replace("delivers 20 psi", &format!("delivers {psi} psi"));
    gives(
        &delivering("40"),
        &[
            "standby-not-below `delivers 40 psi`: `n1` delivers 40 psi and feeds the office in place of `d1`: full, it is empty in 1.4 d",
        ],
    );
    gives(
        &delivering("12"),
        &[
            "standby-too-low `delivers 12 psi`: when `d1` stops, `n1` brings 12 psi, and `r1` needs 15 psi to hold 10 psi",
        ],
    );
    gives(
        &format!(
            "{}# without spare tb\n# without spare m1 contact\nwire n1 contact low -> tb pair 5 -> m1 contact 2\n\
             spare tb pair 6 .. 25\nspare m1 contact 3 .. 4\n",
            beside("check").replace(
                "delivers 20 psi",
                "delivers 20 psi, contact low { healthy closed, limit low 300 psi minor deadband 20 psi }"
            )
        ),
        &[],
    );
    gives(
        "tank tk1 { volume 60 gal, rating 125 psi }\nair mf port 3 -> tk1 with 3/8 in tube, 1/4 in bore, 1 m\n\
         # without spare mf\nspare mf port 4\n",
        &["manifold-port-open `tk1`: nothing is connected to the outlet of `tk1`: it lets air out"],
    );
    gives(
        &beside("shut-off"),
        &["check-valve-missing `n1`: nothing keeps the air of `d1` from flowing back into `n1`"],
    );
    gives(
        "tank tk1 { volume 60 gal, rating 25 psi }\nair d1 -> tk1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m\n",
        &[
            "dryer-above-rating `delivers        30 psi`: `d1` delivers 30 psi, and `tk1`, with no regulator between, is rated for 25 psi",
        ],
    );
}

/// The room sensor with a fitting, and the run to it.
fn threaded(inlet: &str, with: &str) -> String {
    format!(
        "pressure-sensor p1 {{ span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, normal 10 psi, proof 30 psi\n\
         limit low 8 psi major deadband 0.3 psi, inlet {inlet} }}\nair mf port 2 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 m{with}\n"
    )
}

#[test]
fn threads_mate_by_size_sex_and_standard() {
    for kind in ["npt", "iso-7", "iso-228"] {
        let (male, female) = (format!("1/4 in {kind} male"), format!("1/4 in {kind} female"));
        gives(&threaded(&male, &format!(", adapter {female} at p1")), &[]);
        gives(&threaded(&female, &format!(", adapter {male}")), &[]);
        gives(
            &threaded(&male, &format!(", adapter {male} at p1")),
            &[&format!(
                "fittings-do-not-mate `p1`: the inlet of `p1` is {male} and does not mate with the adapter, {male}"
            )],
        );
    }
    gives(
        &threaded("1/4 in npt male", ", adapter 1/4 in iso-7 female at p1"),
        &[
            "fittings-do-not-mate `p1`: the inlet of `p1` is 1/4 in npt male and does not mate with the adapter, 1/4 in iso-7 female; threads by ASME B1.20.1 have flanks of 60\u{b0} and those of ISO 55\u{b0}, so that they never seal",
        ],
    );
    gives(
        &threaded("1/4 in iso-7 male", ", adapter 1/4 in iso-228 female at p1"),
        &[
            "fittings-do-not-mate `p1`: the inlet of `p1` is 1/4 in iso-7 male and does not mate with the adapter, 1/4 in iso-228 female; ISO 7-1 seals on the flanks of the thread and ISO 228-1 on a washer, so that the two leak",
        ],
    );
    gives(
        &threaded("1/4 in npt male", ""),
        &["fittings-do-not-mate `p1`: the inlet of `p1` is 1/4 in npt male, and 1/4 in tube has no thread"],
    );
    gives(
        &threaded("1/4 in compression", ", adapter 1/4 in npt female at p1"),
        &[
            "fittings-do-not-mate `p1`: the inlet of `p1` is 1/4 in compression, and its adapter ends in 1/4 in npt female",
        ],
    );
}

#[test]
fn a_fix_brings_the_adapter_that_mates() {
    for (inlet, with, fixed) in [
        (
            "1/4 in npt male",
            ", adapter 1/4 in iso-7 female at p1",
            "adapter 1/4 in npt female at p1",
        ),
        ("1/4 in iso-7 female", "", "0.5 m, adapter 1/4 in iso-7 male at p1"),
    ] {
        let outcome = check(&threaded(inlet, with), &Settings::default());
        let fix = outcome.findings[0].fix.as_ref().unwrap();
        let text = drysheath_text::apply(&outcome.texts[0], &fix.edits).unwrap();
        assert!(text.contains(fixed), "{text}");
    }
}

#[test]
fn each_of_several_adapters_says_its_end() {
    let manifold = "manifold mf { ports 4, rating 30 psi, outlet 1/4 in npt female }\n\
                    air mf port 1 -> c101 with 3/8 in tube, 1/4 in bore, 3 m, adapter 1/4 in npt male at mf\n";
    let both = ", adapter 1/4 in npt male at mf, adapter 1/4 in npt female at p1";
    gives(&format!("{manifold}{}", threaded("1/4 in npt male", both)), &[]);
    gives(
        &format!(
            "{manifold}{}",
            threaded(
                "1/4 in npt male",
                ", adapter 1/4 in npt male at mf, adapter 1/4 in npt female"
            )
        ),
        &["field-twice `adapter 1/4 in npt female`: of several adapters each says at which end it is"],
    );
    gives(
        &threaded("1/4 in npt male", ", adapter 1/4 in npt female at c101"),
        &[
            "value-unreadable `adapter 1/4 in npt female at c101`: this run does not lead to `c101`, where its adapter is said to be",
        ],
    );
    gives(
        &threaded("1/4 in npt male", ", adapter 1/4 in npt female at p9"),
        &["name-unknown `p9`: nothing in this office is named `p9`"],
    );
}

#[test]
fn tubes_of_two_sizes_want_a_reducer() {
    let run = |then: &str| format!("air mf port 2 -> p1 with 3/8 in tube, 1/4 in bore, 1 m then {then}\n");
    gives(&run("reducer, 1/4 in tube, 0.17 in bore, 1 m"), &[]);
    gives(&run("3/8 in tube, 1/4 in bore, 1 m"), &[]);
    gives(
        &run("1/4 in tube, 0.17 in bore, 1 m"),
        &["tubes-do-not-join `1/4 in tube`: 3/8 in tube is followed by 1/4 in tube, and no reducer joins them"],
    );
    gives(
        &run("reducer, 3/8 in tube, 1/4 in bore, 1 m"),
        &["tubes-do-not-join `reducer`: a reducer joins two pieces of 3/8 in tube"],
    );
    gives(
        "air mf port 2 -> p1 with reducer, 1/4 in tube, 0.17 in bore, 0.5 m\n",
        &["value-unreadable `reducer`: a reducer joins one piece of tube to the next, and this is the first"],
    );
}

#[test]
fn a_cable_is_ordered_by_the_diameter_of_its_conductors_and_may_be_insulated_with_paper() {
    let cable = |said: &str, pair: &str| {
        format!(
            "cable c101 {{ pairs 50, rating 20 psi, {said}\n\
             section s1 {{ underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }}\n\
             section s2 {{ buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }} }}\n\
             wire ps1 -> c101 pair 37{pair} -> tb pair 3 -> m1 sensor 3\n"
        )
    };
    gives(&cable("gauge 0.5 mm", ""), &[]);
    gives(
        &cable("gauge 5 mm", ""),
        &["value-implausible `5 mm`: `gauge` expects 0.202 mm to 3.26 mm; found `5 mm`"],
    );
    gives(&cable("gauge 0.5 mm, insulation paper", ""), &[]);
    gives(
        &cable("gauge 0.5 mm, insulation paper", " red-orange"),
        &["colours-contradict-code `red-orange`: `c101` is insulated with paper, and pair 37 of it has no colours"],
    );
}

#[test]
fn readings_of_contacts_dew_points_and_gauges() {
    gives(
        "reading 2026-05-12 d1 contact humidity closed\nreading 2026-05-12 d1 dew-point -42 degC\n",
        &[],
    );
    gives(
        "reading 2026-05-12 d1 contact humidity 5 psi\n",
        &["value-unreadable `5`: `contact` expects one of `closed`, `open`, found `5`"],
    );
    gives(
        "reading 2026-05-12 c101 place mh-9 6 psi\n",
        &["name-unknown `mh-9`: `c101` has no place named `mh-9`"],
    );
}

/// The air run of the example office with a filter of these losses before the sensor of flow.
fn filtered(losses: &str) -> String {
    format!(
        "filter fl1 {{ rating 60 psi, {losses} }}\nair d1 -> r1 -> fl1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m\n"
    )
}

#[test]
fn a_loss_grows_between_in_proportion_and_as_the_square() {
    gives(&filtered("loss 0.01 psi at 10 scfh, loss 0.02 psi at 20 scfh"), &[]);
    gives(&filtered("loss 0.01 psi at 10 scfh, loss 0.04 psi at 20 scfh"), &[]);
    // Rounded by its maker.
    gives(&filtered("loss 0.1 psi at 10 scfh, loss 0.19 psi at 20 scfh"), &[]);
    gives(
        &filtered("loss 0.1 psi at 10 scfh, loss 0.5 psi at 20 scfh"),
        &[
            "loss-curve-doubtful `loss 0.5 psi at 20 scfh`: `fl1` would lose 0.5 psi at 20 scfh: 2 times the flow of 10 scfh loses 2 to 4 times as much, 0.2 psi to 0.4 psi",
        ],
    );
    gives(
        &filtered("loss 0.1 psi at 10 scfh, loss 0.15 psi at 20 scfh"),
        &[
            "loss-curve-doubtful `loss 0.15 psi at 20 scfh`: `fl1` would lose 0.15 psi at 20 scfh: 2 times the flow of 10 scfh loses 2 to 4 times as much, 0.2 psi to 0.4 psi",
        ],
    );
    gives(
        &filtered("loss 0.1 psi at 10 scfh, loss 0.1 psi at 20 scfh"),
        &[
            "loss-not-rising `loss 0.1 psi at 20 scfh`: `fl1` would lose 0.1 psi at 20 scfh, and 0.1 psi at 10 scfh already",
        ],
    );
    // A spring takes nearly the same at every flow.
    let sprung = |losses: &str| filtered(losses).replace("filter fl1 {", "valve fl1 { function check,");
    gives(&sprung("loss 0.1 psi at 10 scfh, loss 0.12 psi at 20 scfh"), &[]);
    gives(
        &sprung("loss 0.1 psi at 10 scfh, loss 0.5 psi at 20 scfh"),
        &[
            "loss-curve-doubtful `loss 0.5 psi at 20 scfh`: `fl1` would lose 0.5 psi at 20 scfh: 2 times the flow of 10 scfh loses at most 4 times as much, 0.4 psi",
        ],
    );
}

#[test]
fn what_takes_the_most_is_named_where_too_little_arrives() {
    let short = "`fl1` takes 6.3 psi of the";
    let found = messages(&filtered("loss 9 psi at 10 scfh"));
    assert!(found.iter().any(|message| message.contains(short)), "{found:#?}");
    // Before the regulator it is what the regulator lacks.
    let found = messages(&filtered("loss 30 psi at 10 scfh").replace("r1 -> fl1 -> f1", "fl1 -> r1 -> f1"));
    assert!(
        found
            .iter()
            .any(|message| message.contains("; `fl1` takes all of the 21 psi lost on the way")),
        "{found:#?}"
    );
    // A narrow tube, of which two pieces count together.
    let narrow = "air mf port 1 -> c101 with 1/4 in tube, 2.3 mm bore, 14 m then 1/4 in tube, 2.3 mm bore, 14 m\n";
    let found = messages(narrow);
    let tube = "; the tube from `mf` to `c101` takes";
    assert!(found.iter().any(|message| message.contains(tube)), "{found:#?}");
    // The cable itself is not named once more.
    let cable = "cable c101 { pairs 50, gauge 24 awg, rating 20 psi, \
                 section s1 { underground 1.2 km, depth 2 m, resistance 0.3 psi/scfh/kft, usage 3 scfh }, \
                 section s2 { buried 2.0 km, resistance 0.3 psi/scfh/kft, usage 4 scfh } }\n";
    let found = messages(cable);
    assert!(
        !found.is_empty() && found.iter().all(|message| !message.contains("lost on the way")),
        "{found:#?}"
    );
}

fn messages(example: &str) -> Vec<String> {
    let outcome = check(example, &Settings::default());
    outcome.findings.into_iter().map(|finding| finding.message).collect()
}

/// The resistances of the feeds, of the loops and of the air, and what lies between the ends of each run.
fn figures(text: &str) -> String {
    let office = lowered(text);
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    let feeds: Vec<_> = prediction.feeds.iter().map(|feed| feed.total).collect();
    let loops: Vec<_> = prediction.loops.iter().map(|one| one.resistance).collect();
    let runs = office.runs.iter().map(|run| {
        let pieces = run.pieces().map(|piece| {
            let sizes = [piece.fuse, piece.gauge, piece.tube, piece.bore, piece.length];
            let sizes = sizes.map(|size| size.map(|size| size.value.to_string()));
            (sizes, piece.reducer.is_some(), piece.damaged)
        });
        pieces.collect::<Vec<_>>()
    });
    format!("{feeds:?} {loops:?} {:?}", runs.collect::<Vec<_>>())
}

#[test]
fn a_run_that_is_written_backwards_is_turned_with_its_pieces() {
    for (written, meant) in [
        (
            "power m1 -> pdf fuse 1 with 3 A, 14 awg, 6 m then 10 awg, 30 m",
            "power pdf fuse 1 -> m1 with 3 A, 10 awg, 30 m then 14 awg, 6 m",
        ),
        (
            "ground ogb -> m1 frame with 6 awg, 3 m then 4 awg, 1 m",
            "ground m1 frame -> ogb with 4 awg, 1 m then 6 awg, 3 m",
        ),
        (
            "wire tb pair 2 -> p1 with 26 awg, 1 m then 24 awg, 2 m then 22 awg, 8 m",
            "wire p1 -> tb pair 2 with 22 awg, 8 m then 24 awg, 2 m then 26 awg, 1 m",
        ),
        (
            "air p1 -> mf port 2 with 1/4 in tube, 0.17 in bore, 1 m then 1/4 in tube, 0.17 in bore, 2 m then reducer, 3/8 in tube, 1/4 in bore, 4 m",
            "air mf port 2 -> p1 with 3/8 in tube, 1/4 in bore, 4 m then reducer, 1/4 in tube, 0.17 in bore, 2 m then 1/4 in tube, 0.17 in bore, 1 m",
        ),
    ] {
        let checked = |run: &str| {
            let (without, on) = match run.split(' ').next() {
                Some("power") => ("power pdf", ""),
                Some("ground") => ("ground m1", ""),
                Some("wire") => ("wire p1", "wire tb pair 2 -> m1 sensor 2\n"),
                _ => ("air mf port 2", ""),
            };
            check(&format!("# without {without}\n{run}\n{on}"), &Settings::default())
        };
        let outcome = checked(written);
        let [finding] = outcome.findings.as_slice() else {
            panic!("{written}: {:?}", outcome.findings);
        };
        assert_eq!(finding.rule.name(), "run-backwards");
        let text = &outcome.texts[finding.place.file.0 as usize];
        let mended = apply(text, &finding.fix.as_ref().unwrap().edits).unwrap();
        assert!(mended.contains(meant), "{mended}");
        let right = checked(meant);
        assert!(right.findings.is_empty(), "{:?}", right.findings);
        // What is computed before the edit is what is meant, and what is computed after it.
        let figures = [text, mended.as_str(), &right.texts[0]].map(figures);
        assert_eq!(figures[0], figures[1], "{written}");
        assert_eq!(figures[0], figures[2], "{written}");
    }
    // A fuse at the panel's end of it comes to stand before the first `then`.
    let outcome = check(
        "# without power pdf\npower m1 -> pdf fuse 1 with 14 awg, 6 m then 10 awg, 30 m, 3 A\n",
        &Settings::default(),
    );
    let finding = outcome.findings.first().unwrap();
    let edits = &finding.fix.as_ref().unwrap().edits;
    let replacement = "pdf fuse 1 -> m1 with 10 awg, 30 m, 3 A then 14 awg, 6 m";
    assert_eq!(
        edits.iter().map(|edit| &*edit.replacement).collect::<Vec<_>>(),
        [replacement]
    );
}
