//! Rules about grounds and power beyond their own examples: each message, and where they report nothing.

use drysheath_rules::example::check;
use drysheath_rules::{Check, Settings, find};

fn messages(example: &str) -> Vec<String> {
    let outcome = check(example, &Settings::default());
    outcome
        .findings
        .iter()
        .map(|finding| format!("{}: {}", finding.rule.name(), finding.message))
        .collect()
}

#[track_caller]
fn gives(example: &str, expected: &[&str]) {
    assert_eq!(messages(example), expected, "{example}");
}

const M2: &str = r#"
monitor m2 { sensors 1, contacts 1, draws 20 W, window -40.5 V .. -57 V, link lan "192.0.2.12" }
spare m2 sensor 1
spare m2 contact 1
ground m2 frame -> ogb with 6 awg, 3 m
power pdf fuse 2 -> m2 with 3 A, 14 awg, 6 m
# without spare pdf fuse 2
spare pdf fuse 3 .. 10
"#;

#[test]
fn a_second_monitor_is_clean() {
    gives(M2, &[]);
}

#[test]
fn grounds_sized_by_the_fuse() {
    let m1 = r#"monitor m1 { sensors 8, contacts 4, draws 40 W, window -40.5 V .. -57 V, link lan "192.0.2.11" }"#;
    let office = |power: &str, ground: &str| format!("{m1}\n{power}\n{ground}\n");
    gives(
        &office(
            "power pdf fuse 1 -> m1 with 30 A, 10 awg, 6 m",
            "ground m1 frame -> ogb with 12 awg, 3 m",
        ),
        &[
            "ground-conductor-small: the frame ground of `m1` is 12 awg, and for a 30 A fuse NEC Table 250.122 requires at least 10 awg",
        ],
    );
    gives(
        &office(
            "power pdf fuse 1 -> m1 with 30 A, 10 awg, 6 m",
            "ground m1 frame -> ogb with 10 awg, 3 m",
        ),
        &[],
    );
    // The article is that of the figure, as it is read aloud.
    gives(
        &office(
            "power pdf fuse 1 -> m1 with 8 A, 14 awg, 6 m",
            "ground m1 frame -> ogb with 16 awg, 3 m",
        ),
        &[
            "ground-conductor-small: the frame ground of `m1` is 16 awg, and for an 8 A fuse NEC Table 250.122 requires at least 14 awg",
        ],
    );
    // Metric sizes come back in the author's unit.
    gives(
        &office(
            "power pdf fuse 1 -> m1 with 30 A, 10 awg, 6 m",
            "ground m1 frame -> ogb with 4 mm2, 3 m",
        ),
        &[
            "ground-conductor-small: the frame ground of `m1` is 4 mm2, and for a 30 A fuse NEC Table 250.122 requires at least 5.3 mm2 (10 awg)",
        ],
    );
    // The ground need not be larger than the feed.
    gives(
        &office(
            "power pdf fuse 1 -> m1 with 3 A, 18 awg, 6 m",
            "ground m1 frame -> ogb with 20 awg, 3 m",
        ),
        &[
            "ground-conductor-small: the frame ground of `m1` is 20 awg, and for a 3 A fuse NEC 250.122 requires the size of the feed, 18 awg",
        ],
    );
    // Without a fuse only the least size of all is asked for.
    gives(
        &office(
            "power pdf fuse 1 -> m1 with 14 awg, 6 m",
            "ground m1 frame -> ogb with 20 awg, 3 m",
        ),
        &[
            "fuse-unsized: fuse 1 of `pdf`, which feeds `m1`, has no size",
            "ground-conductor-small: the frame ground of `m1` is 20 awg, and NEC Table 250.122 requires at least 14 awg whatever feeds it",
        ],
    );
    // A feed that is thicker than its fuse needs asks for more.
    gives(
        "power main -> pdf with 30 A, 6 awg, 5 m\nground pdf frame -> ogb with 10 awg, 2 m",
        &[
            "ground-conductor-small: the frame ground of `pdf` is 10 awg, and for a 30 A fuse and a feed enlarged to 6 awg NEC 250.122(B) requires at least 6 awg",
        ],
    );
    gives(
        "ground d1 frame -> ogb with 30 awg, 4 m",
        &[
            "ground-conductor-small: the frame ground of `d1` is 30 awg, and NEC Table 250.122 requires at least 14 awg whatever feeds it",
        ],
    );
    gives(
        "ground main return -> ogb with 10 awg, 3 m",
        &[
            "ground-conductor-small: the conductor from the return of `main` to `ogb` is 10 awg, and NEC 250.166 requires at least 8 awg",
        ],
    );
    // The fuse of a run through the panel is not the panel's own.
    gives(
        "power main -> pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m\n# without power pdf\nground pdf frame -> ogb with 18 awg, 3 m",
        &[
            "prediction-incomplete: the file does not say the wire size and length of the run from `main` to `pdf`",
            "ground-conductor-small: the frame ground of `pdf` is 18 awg, and NEC Table 250.122 requires at least 14 awg whatever feeds it",
        ],
    );
    gives(
        "power main -> pdf with 30 A, 10 awg, 3 m\npower pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m\nground pdf frame -> ogb with 12 awg, 2 m",
        &[
            "ground-conductor-small: the frame ground of `pdf` is 12 awg, and for a 30 A fuse NEC Table 250.122 requires at least 10 awg",
        ],
    );
}

#[test]
fn bonds_grow_with_their_length() {
    let bar = "ground-bar rack-bar\n";
    gives(&format!("{bar}ground rack-bar -> ogb with 4 awg, 20 ft"), &[]);
    gives(
        &format!("{bar}ground rack-bar -> ogb with 4 awg, 21 ft"),
        &[
            "ground-conductor-small: the bond from `rack-bar` to `ogb` is 4 awg, and for a bond of 21 ft TIA-607 requires at least 3 awg, 2 kcmil for each foot",
        ],
    );
    // Beyond 4/0 sizes have no number, whatever unit the author writes.
    for written in ["4/0 awg", "250 kcmil"] {
        let expected = format!(
            "ground-conductor-small: the bond from `rack-bar` to `ogb` is {written}, and for a bond of 150 ft TIA-607 requires at least 300 kcmil, 2 kcmil for each foot"
        );
        gives(
            &format!("{bar}ground rack-bar -> ogb with {written}, 150 ft"),
            &[&expected],
        );
    }
    gives(
        &format!("{bar}ground rack-bar -> ogb with 8 awg"),
        &[
            "ground-run-unsized: the ground of `rack-bar` does not say its length",
            "ground-conductor-small: the bond from `rack-bar` to `ogb` is 8 awg, and TIA-607 requires at least 6 awg whatever its length",
        ],
    );
    // In a longer run one size gives one result.
    gives(
        &format!("{bar}ground d1 frame -> rack-bar -> ogb with 10 awg, 3 m"),
        &[
            "ground-conductor-small: the bond from `rack-bar` to `ogb` is 10 awg, and TIA-607 requires at least 6 awg whatever its length",
        ],
    );
}

#[test]
fn returns_and_frames_stay_apart() {
    gives(
        "ground m1 return -> ogb with 6 awg, 3 m\n# without ground m1 frame",
        &[
            "ground-shared-with-return: the battery return of `m1` ends on the ground bar `ogb`, which then carries its current",
        ],
    );
    gives(
        "ground m1 frame -> ogb -> main return with 6 awg, 3 m",
        &["ground-shared-with-return: the frame ground of `m1` shares its conductor with the battery return of `main`"],
    );
    gives(
        "ground m1 return -> m1 frame -> ogb with 6 awg, 3 m\n# without ground m1 frame",
        &["ground-shared-with-return: the frame ground of `m1` shares its conductor with the battery return of `m1`"],
    );
    gives(
        "ground-bar rack-bar\nground rack-bar -> ogb with 6 awg, 2 m\nground main return -> rack-bar with 6 awg, 3 m",
        &[
            "ground-shared-with-return: the return of `main` meets the grounds at `rack-bar`, which is not the office's principal bar",
        ],
    );
    gives("ground m1 return -> main return with 10 awg, 6 m", &[]);
}

#[test]
fn daisy_chains() {
    gives(
        "ground d1 frame -> m1 frame -> ogb with 6 awg, 4 m\n# without ground m1 frame",
        &["ground-through-chassis: the frame ground of `d1` ends on the frame of `m1` instead of a ground bar"],
    );
    gives(
        "ground d1 frame -> d1 with 6 awg, 4 m",
        &["ground-through-chassis: the frame ground of `d1` ends on the frame it starts from, so it grounds nothing"],
    );
}

#[test]
fn bars_in_a_row_are_one_result() {
    gives(
        "ground-bar one\nground-bar two\nground one -> two with 6 awg, 2 m",
        &["bar-not-bonded: no bond leads from the ground bar `one` to the principal bar"],
    );
    gives(
        "ground-bar ogb",
        &["principal-bar-missing: no ground bar here is the principal one, `ogb` included"],
    );
}

#[test]
fn what_cannot_be_read_is_not_missing() {
    let names = |example: &str| -> Vec<&str> {
        check(example, &Settings::default())
            .findings
            .iter()
            .map(|finding| finding.rule.name())
            .collect()
    };
    for example in [
        "ground d1 frame -> ogb with 10 agw, 4 m",
        "ground d1 frme -> ogb with 10 awg, 4 m",
        "power pdf fuse 1 -> m1 with 3 Amp, 14 awg, 6 m",
        "power main -> pdf fuse 1 -> m3 with 3 A, 14 awg, 6 m",
        "ground-bar ogb { principle yes }",
        "ground-bar ogb { principal yse }",
    ] {
        let found = names(example);
        let own: Vec<_> = found
            .iter()
            .filter(|name| !find(name).is_some_and(|rule| matches!(rule.check, Check::WhileReading)))
            .collect();
        assert!(own.is_empty(), "{example}: {own:?}");
    }
}

#[test]
fn loads_and_panels() {
    gives(
        "# without power pdf\npower m1 -> pdf fuse 1 -> main with 3 A, 14 awg, 6 m",
        &["run-backwards: this run is written backwards"],
    );
    gives(
        "power main -> m1 with 14 awg, 6 m\n# without power pdf\nspare pdf fuse 1",
        &["fuse-missing: `m1` is fed from the battery `main` without a fuse"],
    );
    // The battery is found behind a panel behind a panel.
    gives(
        "fuse-panel big { positions 1 .. 2 }\nground big frame -> ogb with 6 awg, 3 m\nspare big fuse 2\n\
         power main -> big with 60 A, 6 awg, 3 m\npower big fuse 1 -> pdf with 30 A, 10 awg, 3 m\npower pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m\n# without power main\n\
         battery main { nominal -48 V, working -43 V .. -54 V, filtered no }",
        &["battery-unfiltered: `main` is not filtered, and `m1`, which it feeds, needs filtered battery"],
    );
}

#[test]
fn fuses_and_wires() {
    gives(
        "power pdf fuse 1 -> m1 with 1 A, 14 awg, 6 m",
        &["fuse-below-load: `m1` draws 40 W at -40.5 V, which is 0.99 A; the 1 A fuse is less than 1.25 times that"],
    );
    // What is wrong with one load is not said once more of the panel and of the voltage.
    gives(
        "monitor m1 { sensors 8, contacts 4, draws 4000 W, window -40.5 V .. -57 V, link lan \"192.0.2.11\" }",
        &["fuse-below-load: `m1` draws 4000 W at -40.5 V, which is 98.77 A; the 3 A fuse is less than 1.25 times that"],
    );
    // The fuse before a panel carries all its loads.
    gives(
        &(M2.replace("3 A", "1.5 A")
            + "power main -> pdf with 1.8 A, 6 awg, 5 m\npower pdf fuse 1 -> m1 with 1.5 A, 14 awg, 6 m\n"),
        &[
            "fuse-below-load: `m2` and `m1` together draw 1.48 A when the battery is nearly empty; the 1.8 A fuse is less than 1.25 times that",
        ],
    );
}

#[test]
fn wires_by_table_and_by_maker() {
    let feed = |with: &str| format!("power pdf fuse 1 -> m1 with {with}, 6 m");
    let supply = |with: &str| format!("power main -> pdf with {with}, 5 m");
    for within in [
        "7 A, 18 awg",
        "10 A, 16 awg",
        "30 A, 10 awg",
        "15 A, 1.5 mm2",
        "27 A, 2.5 mm2",
        "3 A, 22 awg, limit 3 A",
        "3 A, 22 awg, limit 13 A",
        "15 A, 14 awg, limit 60 A",
    ] {
        gives(&feed(within), &[]);
    }
    gives(&supply("70 A, 6 awg"), &[]);
    let above = [
        ("20 A, 16 awg", "16 awg wire: at most 10 A by NEC 240.4(D)"),
        ("8 A, 18 awg", "18 awg wire: at most 7 A by NEC 240.4(D)"),
        (
            "15 A, 26 awg",
            "26 awg wire: at most 7 A even on 18 awg by NEC 240.4(D)",
        ),
        (
            "16 A, 0.5 mm2",
            "0.5 mm2 wire: at most 15 A even on 1 mm2 by IEC 60364-5-52 Table B.52.2, method C",
        ),
        (
            "20 A, 1.5 mm2",
            "1.5 mm2 wire: at most 19.5 A by IEC 60364-5-52 Table B.52.2, method C",
        ),
        ("5 A, 22 awg, limit 3 A", "22 awg wire: its run allows at most 3 A"),
        // What a run says of its wire does not raise the table's figure.
        ("30 A, 14 awg, limit 100 A", "14 awg wire: at most 15 A by NEC 240.4(D)"),
        (
            "30 A, 22 awg, limit 500 A",
            "22 awg wire: at most 7 A even on 18 awg by NEC 240.4(D)",
        ),
    ];
    for (with, why) in above {
        let fuse = with.split(',').next().unwrap_or_default();
        let expected = format!("fuse-above-wire: the {fuse} fuse is too large for {why}");
        let found = messages(&feed(with));
        assert!(found.contains(&expected), "{with}: {found:?}");
    }
    // No maker means a limit far above the table, whatever the fuse.
    for (with, why) in [
        (
            "3 A, 14 awg, limit 100 A",
            "100 A cannot be meant for 14 awg wire: NEC 240.4(D) gives it 15 A, and 400 % of that is 60 A",
        ),
        (
            "3 A, 22 awg, limit 15 A",
            "15 A cannot be meant for 22 awg wire: NEC 240.4(D) gives it 3.491 A by its area, and 400 % of that is 13.96 A",
        ),
        (
            "3 A, 1.5 mm2, limit 100 A",
            "100 A cannot be meant for 1.5 mm2 wire: IEC 60364-5-52 Table B.52.2, method C gives it 19.5 A, and 400 % of that is 78 A",
        ),
        (
            "3 A, 10 awg, 3 m then 14 awg, limit 100 A",
            "100 A cannot be meant for 14 awg wire: NEC 240.4(D) gives it 15 A, and 400 % of that is 60 A",
        ),
    ] {
        gives(&feed(with), &[&format!("wire-limit-doubtful: the limit of {why}")]);
    }
    gives(
        &supply("80 A, 6 awg"),
        &[
            "fuse-above-wire: the 80 A fuse is too large for 6 awg wire: at most 70 A by NEC Table 310.16 (75 degC) and 240.4(B)",
        ],
    );
    // Thinner than the tables is no error by itself, and one note names all.
    gives(
        &(M2.replace("14 awg", "24 awg") + "power pdf fuse 1 -> m1 with 3 A, 22 awg, 6 m\n"),
        &[
            "wire-not-checked: the 3 A fuse is not checked against the 24 awg wire to `m2`: NEC 240.4(D) begins at 18 awg; one other wire here is not checked either",
        ],
    );
}

#[test]
fn panels_by_their_loads_and_by_their_fuses() {
    gives("fuse-panel pdf { positions 1 .. 10, current-max 5 A }", &[]);
    let limited = format!("{M2}fuse-panel pdf {{ positions 1 .. 10, current-max 5 A }}\n");
    gives(
        &limited,
        &[
            "panel-unprotected: the 2 fuses in use on `pdf` add up to 6 A, its supply fuse is 30 A, and the panel may carry 5 A; its loads draw at most 1.48 A",
        ],
    );
    // The fuse before the panel protects it.
    gives(&format!("{limited}power main -> pdf with 5 A, 6 awg, 5 m\n"), &[]);
    gives(
        &format!("{M2}fuse-panel pdf {{ positions 1 .. 10, current-max 1.4 A }}\n"),
        &[
            "panel-overloaded: `m1` and `m2` together draw 1.48 A from `pdf` when the battery is nearly empty, but the panel may carry only 1.4 A",
        ],
    );
}

#[test]
fn voltages() {
    let battery = |fields: &str| format!("battery main {{ {fields}, filtered yes }}\n");
    gives(
        &battery("nominal 48 V, working 43 V .. 54 V"),
        &["polarity-wrong: `m1` works from -40.5 V to -57 V, and `main` gives it 48 V: the polarity is wrong"],
    );
    // What no load agrees with is the battery's.
    gives(
        &(battery("nominal 48 V, working 43 V .. 54 V") + M2),
        &["polarity-wrong: `main` is a 48 V plant, and everything that it feeds is made for the other polarity"],
    );
    gives(
        &(battery("nominal -24 V, working -21 V .. -28 V") + M2),
        &["nominal-wrong: `main` is a -24 V plant, and nothing that it feeds works at that voltage"],
    );
    gives(
        &battery("nominal -24 V, working -43 V .. -54 V"),
        &["working-without-nominal: `main` works from -43 V to -54 V, and its nominal voltage of -24 V is not between"],
    );
    gives(
        &battery("nominal -48 V, working -43 V .. 54 V"),
        &[
            "polarity-wrong: `working` of `main` runs from -43 V to 54 V: its ends have opposite signs, and one of them is wrong",
        ],
    );
    let window = |window: &str| {
        format!(
            "monitor m1 {{ sensors 8, contacts 4, draws 40 W, window {window}, ground-size 6 awg, link lan \"192.0.2.11\" }}"
        )
    };
    gives(
        &window("40.5 V .. -57 V"),
        &[
            "polarity-wrong: `window` of `m1` runs from 40.5 V to -57 V: its ends have opposite signs, and one of them is wrong",
        ],
    );
    // Float above the window is as bad as the end of discharge below it.
    gives(
        &window("-40.5 V .. -52 V"),
        &["voltage-above-window: `m1` works up to -52 V, and `main` floats at -54 V"],
    );
    gives(&window("-40.5 V .. -54 V"), &[]);
    gives(
        &(battery("nominal -48 V, working -43 V .. -60 V") + M2),
        &["voltage-above-window: `main` floats at -60 V, above the window of everything that it feeds"],
    );
    // A regulated bus may lie off its nominal voltage.
    gives(&battery("nominal -48 V, working -51.5 V .. -52.5 V"), &[]);
    gives(
        &battery("nominal -48 V, working -52 V .. -52 V"),
        &["voltage-range-doubtful: `working` of `main` begins and ends at -52 V"],
    );
    // Without wire size and length the end of discharge itself is still compared.
    let unsized_feed = "power pdf fuse 1 -> m1 with 3 A, 6 m\n";
    let found = messages(&(window("-44 V .. -57 V") + "\n" + unsized_feed));
    assert!(
        found.contains(
            &"voltage-below-window: `m1` works down to -44 V, but `main` falls to -43 V at the end of discharge"
                .to_owned()
        ),
        "{found:?}"
    );
}

#[test]
fn chains_and_rings() {
    // Two panels that feed each other.
    gives(
        "fuse-panel two { positions 1 .. 2 }\nground two frame -> ogb with 6 awg, 3 m\nspare two fuse 2\n# without power main\n\
         # without spare pdf fuse 2\nspare pdf fuse 3 .. 10\n\
         power two fuse 1 -> pdf with 30 A, 6 awg, 5 m\npower pdf fuse 2 -> two with 30 A, 6 awg, 5 m",
        &[
            "panel-unfed: `pdf` is fed from `two`, and no battery leads there",
            "panel-unfed: `two` is fed from `pdf`, and no battery leads there",
        ],
    );
    // A monitor that is fed through another has no fuse of its own, and its wire has the fuse before both.
    let second = M2.replace(
        "power pdf fuse 2 -> m2 with 3 A, 14 awg, 6 m",
        "power m1 -> m2 with 22 awg, 1 m",
    );
    let second = second.replace("# without spare pdf fuse 2\nspare pdf fuse 3 .. 10\n", "");
    gives(
        &(second.clone() + "power pdf fuse 1 -> m1 with 15 A, 14 awg, 6 m\n"),
        &[
            "fuse-position-twice: `m2` is fed through `m1`, so that one fuse feeds both",
            "fuse-above-wire: the 15 A fuse is too large for 22 awg wire: at most 7 A even on 18 awg by NEC 240.4(D)",
        ],
    );
    gives(
        &(second.replace("22 awg", "14 awg") + "power pdf fuse 1 -> m1 with 1.5 A, 14 awg, 6 m\n"),
        &[
            "fuse-position-twice: `m2` is fed through `m1`, so that one fuse feeds both",
            "fuse-below-load: `m1` and `m2` together draw 1.48 A when the battery is nearly empty; the 1.5 A fuse is less than 1.25 times that",
        ],
    );
    gives(
        "power main -> pdf with 6 awg, 5 m",
        &["fuse-missing: `pdf` is fed from the battery `main` without a fuse"],
    );
}

#[test]
fn two_grounds_and_supplementary_bonds() {
    gives(
        "ground d1 frame -> m1 frame with 10 awg, 2 m\nground d1 -> ogb with 10 awg, 4 m",
        &[],
    );
    gives(
        "ground m1 -> ogb with 6 awg, 3 m",
        &["frame-grounded-twice: the frame of `m1` has a conductor to `ogb` already"],
    );
    // A line that was copied and not changed: the dryer is the one without.
    gives(
        "ground m1 -> ogb with 6 awg, 3 m\n# without ground d1",
        &["frame-ground-missing: the dryer `d1` has no frame ground"],
    );
    gives(
        "# without ground d1\ndryer d1 { compressor none, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }",
        &[],
    );
}

#[test]
fn on_paper_less_is_asked() {
    let planned = r#"office elm-hollow { title "Elm Hollow", site "ELMH01", elevation 310 m, stage planned, coldest -25 degC, air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi } }
ground d1 frame -> ogb
power pdf fuse 1 -> m1"#;
    let outcome = check(planned, &Settings::default());
    let found: Vec<_> = outcome
        .findings
        .iter()
        .map(|finding| (finding.rule.name(), finding.level.word()))
        .collect();
    assert_eq!(found, [("fuse-unsized", "note")]);
}
