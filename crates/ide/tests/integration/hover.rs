//! Hover texts.

use drysheath_fixture::{example_at_caret, on_damaged_texts};
use drysheath_ide::hover;

/// What is told at the caret `$0`, as plain text.
fn told(text: &str) -> String {
    let (analysis, at) = example_at_caret(text);
    hover(&analysis, at).map_or_else(String::new, |hover| hover.text.plain())
}

#[track_caller]
fn tells(text: &str, wanted: &[&str]) {
    let told = told(text);
    for wanted in wanted {
        assert!(told.contains(wanted), "`{wanted}` is missing of {text}:\n{told}");
    }
}

#[test]
fn a_kind_tells_its_fields_and_ends() {
    tells(
        "$0regulator r1 { set 10 psi }",
        &[
            "holds what is downstream at its set pressure",
            "required: `set`",
            "once it is installed: `differential`",
            "runs of air end on `inlet`, its supply side",
        ],
    );
}

#[test]
fn a_field_tells_its_meaning_and_its_value_in_other_units() {
    tells(
        "regulator r1 { s$0et 10 psi }",
        &[
            "`set` of a regulator",
            "Pressure that it holds at no flow.",
            "wants a pressure",
            "required",
            "`10 psi` is 68.95 kPa, 276.8 inH2O, 689.5 mbar, 24.16 psia",
        ],
    );
    tells("dryer d1 { comp$0ressor scroll }", &["`scroll`: Delivers steadily."]);
    tells("air-pipe ap1 { bo$0re 20 mm }", &["`bore` of an air-pipe"]);
    tells("office elm-hollow { ti$0tle \"Elm\" }", &["`title` of an office"]);
    tells(
        "office e { hot$0test 50 degC }",
        &["`60 degC` where it is left out", "122 degF"],
    );
    tells(
        "pressure-sensor ps1 { at c101 3.2 km, sp$0an 0 .. 10 psi }",
        &[
            "`0 .. 10 psi` is 0 .. 68.95 kPa",
            "It should read 7.562 psi, 76 % of the span.",
        ],
    );
    tells(
        "pressure-sensor ps1 { at c101 3.2 km, span 0 .. 10 psi, lim$0it low 6.7 psi minor }",
        &["should read 7.562 psi: a margin of 0.862 psi to this limit"],
    );
    tells(
        "part regulator two { dro$0op 0.01 psi/scfh }",
        &["`droop` of a regulator", "kPa/slpm"],
    );
}

#[test]
fn a_quantity_is_converted() {
    for text in ["regulator r1 { set 1$00 psi }", "regulator r1 { set 10$0 psi }"] {
        tells(text, &["68.95 kPa", "276.8 inH2O", "24.16 psia"]);
    }
    tells("flow-sensor f1 { span 0 .. $030 scfh }", &["14.16 sl/min"]);
    tells("flow-sensor f1 { span $00 .. 30 scfh }", &["`0 scfh`"]);
    tells("power main -> pdf with $06 awg, 5 m", &["13.3 mm2", "ohm a kilometre"]);
    tells(
        "power main -> pdf with 6 awg, 5 $0m",
        &["16.4 ft", "`m` measures length"],
    );
    tells("air d1 -> r1 with 3/8 in $0tube", &[]);
    // No conductor is of that size.
    assert_eq!(told("power main -> pdf with -$025 kcmil, 5 m"), "`-25 kcmil`");
    // A difference is neither above the air nor above vacuum.
    assert!(!told("regulator r1 { differential $05 psi }").contains("psia"));
    assert!(!told("regulator r1 { set $01e308 psi }").contains("inf"));
    let deadband = told("dew-point-sensor x { span -60 .. 20 degC, limit high -20 degC minor deadband $02 degC }");
    assert!(!deadband.contains("degF"), "{deadband}");
}

#[test]
fn a_size_without_a_conductor_has_no_resistance() {
    let told = told("power main -> pdf with $0100000 awg, 5 m");
    assert!(told.contains("100000 awg") && !told.contains("ohm"), "{told}");
}

#[test]
fn a_choice_tells_what_it_means() {
    tells("dryer d1 { compressor pis$0ton }", &["Delivers in strokes"]);
    tells(
        "pressure-sensor ps1 { span 0 .. 10 psi, limit low 3 psi mi$0nor }",
        &["needs repair before it gets worse"],
    );
    tells(
        "pressure-sensor ps1 { span 0 .. 10 psi, limit l$0ow 3 psi }",
        &["falls below"],
    );
    tells("air d1 -> r1 with adapter 1/4 in thread fem$0ale", &["inside thread"]);
}

#[test]
fn a_pair_tells_its_looks_and_what_it_carries() {
    tells(
        "wire ps1 -> c101 pair 3$07 -> tb pair 3 -> m1 sensor 3",
        &[
            "pair 37 of `c101`: black-orange",
            "tip black, ring orange (BK-OR)",
            "binder 2 is white-orange",
            "`ps1` → `c101 pair 37` → `tb pair 3` → `m1 sensor 3`",
            "`ps1` should read 7.6 psi",
            "loop of 623.7 ohm at 60 degC (539 ohm at 20 degC), at most 4000 ohm for the monitor",
        ],
    );
    tells(
        "block tb { pairs 50, pins yes }\nspare tb pair 5 .. 3$00",
        &[
            "pair 30 of `tb`: white-slate",
            "tip on pin 30, ring on pin 5 of connector 2",
            "free: declared spare",
        ],
    );
    tells(
        "spare tb pair re$0st\n# without spare tb pair 5",
        &[
            "the rest of the pairs of `tb`",
            "All that no other statement names is spare.",
            "now 5 .. 25",
        ],
    );
    tells(
        "defective tb pair 2$05 because \"post broken\"",
        &["pair 25 of `tb`: violet-slate", "defective because \"post broken\""],
    );
    tells(
        "wire tb pair 2$00 -> c101 pair 1",
        &["carries nothing from a device to an input"],
    );
    tells(
        "wire ps1 -> tb pair 3 white-g$0reen -> m1 sensor 3",
        &["pair 3 of `tb`: white-green"],
    );
    tells("wire ps1 -> tb pair 9$09 -> m1 sensor 3", &["it has 1 to 25"]);
}

#[test]
fn a_port_tells_what_is_free() {
    tells(
        "wire ps1 -> c101 pa$0ir 37",
        &["49 of 50 pairs free, the next is pair 1"],
    );
    tells(
        "wire ps1 -> tb pair 3 -> m1 sensor $03",
        &["sensor input 3 of `m1`", "`ps1` → "],
    );
    tells(
        "power pdf fuse $01 -> m1 with 3 A, 14 awg, 6 m",
        &["leads to `m1`", "fuse 3 A", "-42.89 V at `m1`"],
    );
    tells("ground m1 fra$0me -> ogb", &["its frame"]);
    tells("spare mf port $03 .. 4", &["port 3 of `mf`", "free: declared spare"]);
}

#[test]
fn a_sensor_tells_its_reading_span_limits_and_margins() {
    tells(
        "pressure-sensor ps$01 { at c101 3.2 km, span 0 .. 10 psi, limit low 6.7 psi minor deadband 0.3 psi }",
        &[
            "`ps1`: pressure-sensor",
            "at 3.2 km on `c101`",
            "should read 7.562 psi, 76 % of its span `0 .. 10 psi`",
            "limit       at  severity     margin\nlow    6.7 psi  minor     0.862 psi",
            "→ `m1 sensor 3`",
        ],
    );
    tells(
        "flow-sensor f$01 { span 0 .. 30 scfh, pressure { span 0 .. 20 psi } }",
        &["should read 7 scfh, 23 %", "`pressure` should read 9.99"],
    );
    tells(
        "accept x on ps$01 because \"y\" until 2027-04-30",
        &["should read 7.6 psi"],
    );
    tells("reading 2026-05-12 f$01 7.5 scfh", &["should read 7 scfh"]);
}

#[test]
fn a_cable_tells_its_profile() {
    tells(
        "air mf port 1 -> c1$001 with 3/8 in tube, 1/4 in bore, 3 m",
        &[
            "3.2 km long\n",
            "49 of 50 pairs free",
            "distance   pressure  least     margin  place",
            "  3.2 km  7.562 psi  3 psi  4.562 psi  end of s2, ps1",
        ],
    );
    tells(
        "cable c101 { pairs 50, gauge 24 awg, section s$02 { buried 2 km, resistance 0.14 psi/scfh/kft, usage 4 scfh } }",
        &[
            "begins at the start of `c101`",
            "minimum pressure",
            "above the 3 psi that is wanted",
        ],
    );
    tells(
        "cable c101 { pairs 50, section s1 { buried 2 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }, place mh$0-1 { at 1 km } }",
        &["place `mh-1` of `c101`", "pressure 9."],
    );
}

#[test]
fn what_moves_air_tells_how_it_stands() {
    tells(
        "air d1 -> r$01 -> f1 -> mf",
        &["set to 10 psi", "supply 30 psi", "flow 7 scfh", "regulating"],
    );
    tells(
        "air d$01 -> r1 -> f1 -> mf",
        &[
            "gives 7 scfh, 7 % of what it can",
            "can give 96.38 scfh here, of 100 scfh",
            "frost point",
            "`d1 contact humidity` → ",
        ],
    );
    tells("air d1 -> r1 -> f1 -> m$0f", &["pressure 10 psi", "2 of 4 ports free"]);
    tells(
        "regulator r$01 { set 10 psi, differential 5 psi }\ndryer d1 { compressor piston }",
        &["cannot be computed yet"],
    );
}

#[test]
fn power_tells_the_voltage_at_the_load() {
    let voltage = "-42.89 V at `m1` when `main` is down to -43 V";
    tells(
        "wire tb pair 3 -> m$01 sensor 3",
        &[
            "5 of 8 sensor inputs free",
            voltage,
            "works down to -40.5 V",
            "grounded to `ogb` with 6 awg",
        ],
    );
    tells("power ma$0in -> pdf with 6 awg, 5 m", &["-48 V nominal", voltage]);
    tells(
        "power pd$0f fuse 1 -> m1 with 3 A, 14 awg, 6 m",
        &["9 of 10 fuse positions free", "position 1 feeds `m1`, fuse 3 A"],
    );
    tells("ground m1 frame -> og$0b with 6 awg, 3 m", &["`pdf`", "`d1`"]);
}

#[test]
fn rules_parts_and_what_is_inside_things() {
    tells(
        "accept grou$0nd-conductor-small on m1 because \"x\" until 2027-04-30",
        &["smaller than required", "level error"],
    );
    tells(
        "part regulator two { set 5 psi, droop 0.01 psi/scfh }\nregulator r1 : tw$0o { inlet-max 60 psi }",
        &[
            "part `two`: regulator",
            "set 5 psi\ndroop 0.01 psi/scfh",
            "taken here by `r1`",
        ],
    );
    tells(
        "wire d1 contact humi$0dity -> tb pair 4 -> m1 contact 1",
        &["contact `humidity` of `d1`", "healthy closed", "→ `m1 contact 1`"],
    );
    tells(
        "office e$0 { title \"Elm\" }",
        &["title: `Elm`", "stage: installed", "14.7 psia", "missing for"],
    );
}

#[test]
fn a_thing_tells_what_is_recorded_of_it() {
    tells(
        "block t$0b { pairs 25, record serial \"A-1177\" }",
        &["serial: `A-1177`"],
    );
    tells(
        "block tb { pairs 25, record seri$0al \"A-1177\" }",
        &["`serial`: a record", "under a name that this repository chose"],
    );
    tells(
        "block tb { pairs 25, reco$0rd serial \"A-1177\" }",
        &["`record` of a block", "Any fact of the repository's own"],
    );
}

#[test]
fn comments_right_above_a_statement_belong_to_it() {
    let above = "# Left of the door, [behind](x) the rack.\n# Replaced in 2024.\n";
    for statement in [
        "block t$0b { pairs 25 }",
        "block tb { pairs 25 }\nspare t$0b pair 20 .. 25",
        "wir$0e f1 flow -> tb pair 1 -> m1 sensor 1",
        "spar$0e tb pair 20 .. 25",
    ] {
        tells(
            &format!("{above}{statement}"),
            &["Left of the door, [behind](x) the rack. Replaced in 2024."],
        );
    }
    let apart = told("# of the file\n\nspar$0e tb pair 20 .. 25");
    assert!(!apart.contains("of the file"), "{apart}");
    let (analysis, at) = example_at_caret(&format!("{above}block t$0b {{ pairs 25 }}"));
    let markdown = hover(&analysis, at).unwrap().text.markdown();
    assert!(!markdown.contains("[behind](x)"), "{markdown}");
}

#[test]
fn the_first_word_of_a_statement_tells_what_it_says() {
    tells(
        "wir$0e f1 flow -> tb pair 1 -> m1 sensor 1",
        &["A signal's way, such as"],
    );
    tells("spar$0e tb pair 20 .. 25", &["What nothing uses, such as"]);
    tells(
        "groun$0d m1 frame -> ogb with 6 awg, 3 m",
        &["A ground conductor, such as"],
    );
}

#[test]
fn a_thing_tells_where_it_is_and_what_is_left_out_of_it() {
    let annex = "room annex { title \"Annex\" }\n";
    tells(
        &format!("{annex}block t$0b {{ pairs 25, room annex, location \"east wall\", order \"W-1\" }}"),
        &["room: `annex (Annex)`", "location: `east wall`", "order: `W-1`"],
    );
    tells(
        "room an$0nex { title \"Annex\" }\nblock tb { pairs 25, room annex }",
        &["title: `Annex`", "in it: `tb`"],
    );
    tells(
        "block tb { pairs 25, room a$0nnex }\nroom annex { title \"Annex\" }",
        &["`annex`: room"],
    );
    tells(
        "pressure-sensor p$01 { stage planned, span 0 .. 15 psi }",
        &["planned: nothing is asked of it or computed"],
    );
    tells("other h$01 { is \"heater\", draws 60 W }", &["is `heater`"]);
}

#[test]
fn markdown_fences_tables_and_marks_headings() {
    let (analysis, at) = example_at_caret("air mf port 1 -> c1$001");
    let markdown = hover(&analysis, at).unwrap().text.markdown();
    assert!(markdown.starts_with("**`c101`: cable**\n\n- 3.2 km long"), "{markdown}");
    assert!(markdown.contains("```text\ndistance"), "{markdown}");
}

#[test]
fn nothing_is_told_of_signs_and_blanks() {
    for text in [
        "regulator r1 $0  { set 10 psi }",
        "air d1 -$0> r1",
        "regulator r1 { set 10 psi } # com$0ment",
    ] {
        assert_eq!(told(text), "", "{text}");
    }
}

#[test]
fn damaged_text_is_answered() {
    let mut told = 0;
    on_damaged_texts(|_, analysis, offset| {
        if let Some(hover) = hover(analysis, offset) {
            told += u32::from(!hover.text.plain().is_empty() && !hover.text.markdown().is_empty());
        }
    });
    assert!(told > 500, "{told}");
}

#[test]
fn a_number_with_letters_is_told_as_it_is_printed() {
    let panel = "fuse-panel pdf { positions A1 .. A3, positions B1 .. B2 }\nblock tb { pairs A1 .. A25 }\n";
    tells(
        &format!("{panel}spare pdf fuse B$02"),
        &["fuse position B2 of `pdf`", "free: declared spare"],
    );
    tells(
        &format!("{panel}spare pdf fuse C$02"),
        &["`pdf` has no such number: it has A1 to A3, B1 to B2."],
    );
    tells(&format!("{panel}spare tb pair A$03"), &["pair A3 of `tb`: white-green"]);
    tells(
        &format!("{panel}spare pdf fu$0se A1"),
        &["5 of 5 fuse positions free, the next is fuse position A1"],
    );
}

#[test]
fn a_dryer_tells_how_often_its_compressor_starts() {
    // By hand: 20 gal (2.674 ft3) take 2.674 x 15/14.696 = 2.729 scf at 60 degF, which 7 scfh use in 23.4 min and 113 scfh more fill in 1.4 min.
    tells(
        "dryer d$01 { compressor piston, delivers 30 psi, capacity 120 scfh, rating-elevation 310 m, cut-in 45 psi, cut-out 60 psi, volume 20 gal }",
        &["its compressor starts 2.4 times an hour: 1.4 min on, 23 min off"],
    );
}

#[test]
fn a_dryer_tells_how_long_the_pressures_hold_without_it() {
    const DRYER: &str = "dryer d$01 { compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }\n";
    tells(
        DRYER,
        &[
            "once it stops, the pressures hold for ",
            "; the first to fall below the minimum is that at ",
            " on `c101` (",
        ],
    );
    let needs = |volumes: [&str; 2]| {
        let [one, other] = volumes;
        format!(
            "{DRYER}cable c101 {{ pairs 50, gauge 24 awg, rating 20 psi
    section s1 {{ underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh{one} }}
    section s2 {{ buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh{other}, minimum 9 psi }}
}}\n"
        )
    };
    // The second section is below that when all is well, from its beginning on.
    tells(
        &needs([", volume 7 ft3", ", volume 12 ft3"]),
        &["no hold-up: the pressure at 1.2 km on `c101` is already below the minimum (9 psi) when it stops"],
    );
    tells(
        &needs([", volume 7 ft3", ""]),
        &[
            "how long the pressures hold once it stops is not known: the file does not say the volume of section `s2` of `c101`",
        ],
    );
}

#[test]
fn a_cable_tells_where_a_leak_is_hardest_to_detect() {
    let cable = |sensor: &str| {
        format!(
            "cable c1$001 {{ pairs 50, gauge 24 awg, section s1 {{ buried 3.2 km, resistance 0.1 psi/scfh/kft, usage 7 scfh }} }}\n{sensor}"
        )
    };
    tells(&cable(""), &["a leak is hardest to detect at ", " scfh up, the `"]);
    // Without limits nothing reports it.
    let blind = cable(
        "pressure-sensor ps1 { at c101 3.2 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi }\n\
         pressure-sensor p1 { span 0 .. 15 psi, step 0.1 psi, proof 30 psi }\n\
         flow-sensor f1 { span 0 .. 15 scfh, step 0.2 scfh, error 0.3 scfh, proof 60 psi }\n",
    );
    tells(&blind, &["even a complete cut trips no limit"]);
}

#[test]
fn a_state_tells_what_it_comes_to() {
    tells(
        "# A digger.\nwh$0en c101 leaks 10 scfh at 2.1 km expect f1 high, c101 above 9 psi\n",
        &[
            "`when c101 leaks 10 scfh at 2.1 km expect f1 high, c101 above 9 psi`\n\nA digger.",
            "`c101`        7.562 psi  5.013 psi",
            "`f1`    11.62 scfh  high\n",
            "`ps1`    5.013 psi  low\n",
            "- `f1 high` holds\n",
            "- `c101 above 9 psi` does not hold",
        ],
    );
    for at in [
        "wh$0en d1 stops expect",
        "when d1 st$0ops expect",
        "when d1 stops expe$0ct",
    ] {
        let text = format!("{at} c101 above minimum for 20 min, p1 low\n");
        tells(&text, &["`c101 above minimum for 20 min` holds", "`p1 low` holds"]);
    }
    // Names and limits tell what they are.
    tells(
        "when d$01 stops expect p1 low\n",
        &["`d1`: dryer", "once it stops, the pressures hold for"],
    );
    tells(
        "when d1 stops expect p1 lo$0w\n",
        &["Raises its alarm when the reading falls below it."],
    );
}

#[test]
fn a_state_that_is_not_known_says_why() {
    tells(
        "wh$0en c101 leaks 10 scfh at 2.1 km expect ps1 low\n\
         cable c101 { pairs 50, gauge 24 awg, section s1 { buried 3.2 km, usage 7 scfh } }\n",
        &["not known: "],
    );
}
