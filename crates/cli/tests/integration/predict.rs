//! The `predict` command: its tables, its JSON, and its exit codes.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use serde_json::Value;

use super::common::{code, copy, err, office, out, run};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .canonicalize()
        .unwrap()
}

fn predict(arguments: &[&str]) -> Output {
    run(&root(), &[&["predict"], arguments].concat())
}

fn json(arguments: &[&str]) -> Value {
    let mut all = arguments.to_vec();
    all.extend(["--output", "json"]);
    let output = predict(&all);
    assert_eq!(code(&output), 0, "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

#[test]
fn tables_show_distance_pressure_least_and_margin() {
    let output = predict(&["grammar/example.office"]);
    assert_eq!(code(&output), 0);
    let text = out(&output);
    let row = text.lines().find(|line| line.contains("end of s2")).unwrap();
    let cells: Vec<_> = row.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect();
    assert_eq!(
        cells,
        ["3.2 km", "7.6 psi", "0 scfh", "3 psi", "4.6 psi", "end of s2, ps1"]
    );
    assert!(
        text.contains("Local\ncodes and licensed people govern"),
        "the cautions are there"
    );
}

#[test]
fn json_and_tables_are_the_same_figures() {
    let report = json(&["grammar/example.office"]);
    let office = &report["offices"][0];
    assert_eq!(office["office"], "elm-hollow");
    let end = office["lines"][0]["points"].as_array().unwrap().last().unwrap();
    let pressure = end["pressure_pa"].as_f64().unwrap() / 6_894.757_293_168;
    assert!((pressure - 7.562).abs() < 5e-4, "{pressure} psi");
    let margin = end["margin_pa"].as_f64().unwrap() + end["minimum_pa"].as_f64().unwrap();
    assert!((margin - end["pressure_pa"].as_f64().unwrap()).abs() < 1e-6);
    let sensor = &office["sensors"][2];
    assert_eq!(
        (sensor["name"].as_str(), sensor["expected"].as_f64()),
        (Some("ps1"), end["pressure_pa"].as_f64())
    );
}

#[test]
fn how_tells_formula_inputs_with_their_places_and_sources() {
    let text = out(&predict(&["grammar/example.office", "--how", "ps1"]));
    for wanted in [
        "ps1 pressure should read 7.6 psi",
        "resistance 0.14 psi/scfh/kft (grammar/example.office:",
        "droop 0 psi/scfh (default)",
        "Hagen-Poiseuille",
        "ISO 2533",
        "c101 pair 37: 24 awg, 3.2 km",
    ] {
        assert!(text.contains(wanted), "{wanted} is missing in\n{text}");
    }
    // Each place leads to a line that says what it is cited for.
    let office = fs::read_to_string(root().join("grammar/example.office")).unwrap();
    let cited = text.lines().find(|line| line.contains("set 10 psi")).unwrap();
    let number: usize = cited.rsplit(':').next().unwrap().trim_end_matches(')').parse().unwrap();
    assert!(office.lines().nth(number - 1).unwrap().contains("set"), "{cited}");
}

#[test]
fn every_name_that_is_printed_can_be_asked_about() {
    let file = "grammar/example.office";
    let record = &json(&[file])["offices"][0];
    let text = |value: &Value| value.as_str().map_or_else(|| value.to_string(), str::to_owned);
    let mut names = Vec::new();
    for sensor in record["sensors"].as_array().unwrap() {
        names.push(format!("{} {}", text(&sensor["name"]), text(&sensor["signal"])));
    }
    for one in record["loops"].as_array().unwrap() {
        names.push(format!(
            "{} {} {}",
            text(&one["monitor"]),
            text(&one["input_kind"]),
            text(&one["input"])
        ));
    }
    for tube in record["tubes"].as_array().unwrap() {
        names.push(format!("{} -> {}", text(&tube["from"]), text(&tube["to"])));
    }
    for line in record["lines"].as_array().unwrap() {
        for point in line["points"].as_array().unwrap() {
            names.push(format!("{} {} m", text(&line["name"]), point["distance_m"]));
        }
    }
    names.extend(["c101 section s2", "tb pair 3", "c101 pair 37", "main -> m1"].map(str::to_owned));
    assert!(names.len() > 12, "{names:?}");
    for name in &names {
        let output = predict(&[file, "--how", name]);
        assert_eq!(code(&output), 0, "{name}: {}", String::from_utf8_lossy(&output.stderr));
        assert!(out(&output).lines().count() > 3, "{name}: {}", out(&output));
    }
    let first = |name: &str| {
        out(&predict(&[file, "--how", name]))
            .lines()
            .next()
            .unwrap_or_default()
            .to_owned()
    };
    assert_eq!(first("m1 sensor 3"), "ps1 pressure should read 7.6 psi");
    assert_eq!(first("tb pair 3"), first("ps1 pressure"));
    assert_eq!(first("c101 1.2 km"), "pressure at 1.2 km on c101: 8.771 psi");
    // What is not there is not taken for something else.
    for name in [
        "c101 9 km",
        "c101 -1 km",
        "c101 3 psi",
        "m1 sensor 9",
        "tb pair 26",
        "c101 section s9",
        "p1 flow",
        "typo -> r1",
        "d1 -> typo",
        "d1 -> r1, piece typo",
        "-> r1",
        "",
    ] {
        assert_eq!(code(&predict(&[file, "--how", name])), 2, "{name}");
    }
}

/// The names that the tables of an office print, each as a reader puts it together.
fn printed(tables: &str) -> Vec<String> {
    let cells = |line: &str| -> Vec<String> {
        let cells = line.split("  ").map(|cell| cell.trim().to_owned());
        cells.filter(|cell| !cell.is_empty()).collect()
    };
    let mut names = Vec::new();
    for table in tables.split("\n\n").skip(1) {
        let (heading, rows) = table.split_once('\n').unwrap();
        for row in rows.lines().skip(1).map(cells) {
            let joined = |at: &[usize]| at.iter().map(|at| row[*at].as_str()).collect::<Vec<_>>().join(" ");
            match heading {
                "Bottles" | "Dryers" | "Losses" | "Regulators" | "Tubes" | "Feeds" => names.push(row[0].clone()),
                "Sensors" => {
                    names.extend([row[0].clone(), joined(&[0, 1])]);
                    for limit in row.get(5).iter().flat_map(|limits| limits.split(", ")) {
                        let level = limit.split(' ').next().unwrap();
                        names.extend([format!("{} {level}", row[0]), format!("{} {level}", joined(&[0, 1]))]);
                    }
                }
                "Leaks that limits report" => names.extend([row[0].clone(), joined(&[0, 1]), row[3].clone()]),
                "Loops" | "Controls" => names.extend([row[0].clone(), row[1].clone()]),
                "Hold-up" => names.extend(row[0].split(", ").map(str::to_owned).chain(row.get(2).cloned())),
                _ if heading.starts_with("When ") => names.extend([row[0].clone(), joined(&[0, 3])]),
                _ if heading.starts_with("Sensors when") || heading.starts_with("These figures") => {}
                _ => {
                    let place = row.last().unwrap();
                    names.extend([
                        heading.to_owned(),
                        format!("{heading} {}", row[0]),
                        format!("{heading} {place}"),
                    ]);
                    names.extend(place.split(", ").map(|one| format!("{heading} {one}")));
                }
            }
        }
    }
    names.sort();
    names.dedup();
    names
}

#[test]
fn branches_and_titled_cables_are_asked_about_as_tables_print_them() {
    let folder = tempfile::tempdir().unwrap();
    copy(&root().join("tests/county"), folder.path());
    let file = folder.path().join("offices/forkwater.office");
    // Hold-up takes volumes, and a title may have what a run has.
    let text = fs::read_to_string(&file).unwrap();
    let titled = text
        .replace("psi/scfh/kft,", "psi/scfh/kft, volume 6 ft3,")
        .replace("cable c7 {", "cable c7 {\n    title \"River (to mill -> and chapel)\"")
        .replace(": door-switch\n", ": door-switch { title \"Door, rear\" }\n");
    assert_ne!(titled, text);
    for text in [text, titled] {
        fs::write(&file, text).unwrap();
        let file = file.to_str().unwrap();
        let tables = out(&predict(&[file, "--when", "d1 stops"]));
        let names = printed(&tables);
        for part in [
            " branch mill 1.6 km",
            " branch mill",
            " 3.2 km",
            "f1 -> mf",
            "m1 sensor 5",
        ] {
            assert!(
                names.iter().any(|name| name.ends_with(part)),
                "{part} is not in {names:?}"
            );
        }
        known(file, &names);
    }
    let with_controls = "tests/county/offices/linnet-gate.office";
    let names = printed(&out(&predict(&[with_controls])));
    assert!(names.contains(&"d1 control start".to_owned()), "{names:?}");
    known(with_controls, &names);
}

#[test]
fn events_that_cannot_be_read_are_refused_at_once() {
    for (events, why) in [
        ("", "expected an event after `when`"),
        ("d1 stops,", "expected an event after `,`"),
        ("d1 stops expect no alarm", "state only what happens, without `expect`"),
    ] {
        let output = predict(&["grammar/example.office", "--when", events]);
        assert_eq!((code(&output), out(&output)), (2, String::new()), "{events}");
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(told.contains(why), "{events}: {told}");
    }
}

#[test]
fn a_place_that_several_cables_have_is_asked_back() {
    let several = "tests/county/offices/ashlar-cross.office";
    let output = predict(&[several, "--how", "end of s1"]);
    assert_eq!((code(&output), out(&output)), (2, String::new()));
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        told.contains("`end of s1` is several places, say which: `c1 end of s1`, `c2 end of s1`"),
        "{told}"
    );
    let one = "grammar/example.office";
    let first = |name: &str| out(&predict(&[one, "--how", name])).lines().next().map(str::to_owned);
    assert_eq!(first("end of s1"), first("c101 end of s1"));
    assert!(first("end of s1").is_some_and(|line| line.starts_with("pressure at ")));
}

#[test]
fn a_limit_is_explained_with_its_sensor() {
    let text = out(&predict(&["grammar/example.office", "--how", "ps1 low"]));
    assert!(text.contains("limit low 6.7 psi (grammar/example.office:"), "{text}");
    assert!(text.contains(", margin 0.9 psi"), "{text}");
}

/// Fails where one of the names is not understood.
fn known(file: &str, names: &[String]) {
    for name in names {
        let output = predict(&[file, "--how", name]);
        assert_eq!(code(&output), 0, "{name}: {}", String::from_utf8_lossy(&output.stderr));
        assert!(!out(&output).is_empty(), "{name}");
    }
}

#[test]
fn every_thing_can_be_asked_about() {
    for office in json(&["tests/county"])["offices"].as_array().unwrap() {
        let file = office["file"].as_str().unwrap();
        let names = ["dryers", "regulators", "sensors"].map(|kind| office[kind].as_array().unwrap());
        for name in names.into_iter().flatten().map(|one| one["name"].as_str().unwrap()) {
            let output = predict(&[file, "--how", name]);
            assert_eq!((code(&output), out(&output).is_empty()), (0, false), "{file} {name}");
        }
    }
}

#[test]
fn what_is_missing_is_said_and_nothing_is_guessed() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("x.office");
    let text = fs::read_to_string(root().join("grammar/example.office")).unwrap();
    fs::write(&file, text.replacen("usage 3 scfh", "note \"not known\"", 1)).unwrap();
    let report = json(&[file.to_str().unwrap()]);
    let office = &report["offices"][0];
    assert_eq!(office["missing"][0]["what"], "the usage of section `s1` of `c101`");
    assert!(office["lines"][0]["points"][0]["pressure_pa"].is_null());
    assert!(office["regulators"][0]["flow_m3_per_s"].is_null());
    let asked = predict(&[file.to_str().unwrap(), "--how", "f1"]);
    assert!(!out(&asked).contains("should read"), "{}", out(&asked));
}

#[test]
fn pictures_are_drawn_for_each_line() {
    let folder = tempfile::tempdir().unwrap();
    let pictures = folder.path().join("pictures");
    let output = predict(&[
        "tests/county/offices/forkwater.office",
        "--pictures",
        pictures.to_str().unwrap(),
    ]);
    assert_eq!(code(&output), 0);
    for (name, sensor) in [("c7", "ps-weir"), ("c7.mill", "ps-mill"), ("c7.chapel", "ps-chapel")] {
        let svg = fs::read_to_string(pictures.join(format!("offices/forkwater/{name}.svg"))).unwrap();
        assert!(svg.starts_with("<svg") && svg.contains("<polyline"), "{svg}");
        assert!(svg.contains(sensor), "{sensor} is missing in {name}");
    }
}

#[test]
fn pictures_of_another_state_have_both_pressures() {
    let folder = tempfile::tempdir().unwrap();
    let drawn = |name: &str, when: &[&str]| {
        let pictures = folder.path().join(name);
        let arguments = ["grammar/example.office", "--pictures", pictures.to_str().unwrap()];
        let output = predict(&[&arguments, when].concat());
        assert_eq!(code(&output), 0, "{}", err(&output));
        fs::read_to_string(pictures.join("example/c101.svg")).unwrap()
    };
    let normal = drawn("normal", &[]);
    let both = drawn("both", &["--when", "c101 leaks 10 scfh at 2.1 km"]);
    let curves = |svg: &str| svg.matches("<polyline").count();
    assert_eq!((curves(&normal), curves(&both)), (1, 2));
    assert!(!normal.contains("once c101"), "{normal}");
    assert!(both.contains("once c101 leaks 10 scfh at 2.1 km"), "{both}");
}

#[test]
fn wrong_arguments_are_answered_in_words() {
    for (arguments, told) in [
        (
            &["grammar/example.office", "--how", "nobody"][..],
            "nothing is named `nobody`",
        ),
        (
            &["tests/county/parts/regulators.office"][..],
            "it does not describe an office",
        ),
        (&["nowhere.office"][..], "nowhere.office"),
    ] {
        let output = predict(arguments);
        assert_eq!(code(&output), 2);
        let error = String::from_utf8(output.stderr).unwrap();
        assert!(error.contains(told), "{error}");
    }
}

/// What `predict` says of the example office with these statements, the first in the place of the run from its dryer.
fn predicted(statements: &str, arguments: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("drysheath.toml"), "language = 1\n").unwrap();
    let example = fs::read_to_string(root().join("grammar/example.office")).unwrap();
    let replaced = example.lines().find(|line| line.starts_with("air d1 ")).unwrap();
    fs::write(folder.path().join("elm.office"), example.replace(replaced, statements)).unwrap();
    let output = run(folder.path(), &[&["predict", "elm.office"], arguments].concat());
    assert_eq!(code(&output), 0, "{}", String::from_utf8_lossy(&output.stderr));
    out(&output)
}

const WITH_FILTER: &str = "filter fl1 { rating 60 psi, loss 0.2 psi at 5 scfh, loss 0.5 psi at 10 scfh }\n\
                           air d1 -> fl1 with 3/8 in tube, 1/4 in bore, 1 m then reducer, 1/4 in tube, 0.17 in bore, 1 m\n\
                           air fl1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m";

#[test]
fn losses_pieces_and_kinds_of_inputs_are_in_the_tables() {
    let text = predicted(WITH_FILTER, &[]);
    let row = |start: &str| {
        let row = text.lines().rfind(|line| line.trim_start().starts_with(start));
        let cells = row.unwrap_or_default().split("  ").map(str::trim);
        cells
            .filter(|cell| !cell.is_empty())
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    assert_eq!(row("fl1 "), ["fl1", "7 scfh", "0.3 psi", "10 scfh"], "{text}");
    for piece in ["d1 -> fl1, piece 1 ", "d1 -> fl1, piece 2 ", "fl1 -> r1 "] {
        assert!(!row(piece).is_empty(), "{piece}: {text}");
    }
    assert_eq!(row("f1 flow")[1], "m1 sensor 1", "{text}");
    assert_eq!(row("d1 contact humidity")[1], "m1 contact 1", "{text}");
}

#[test]
fn how_tells_what_a_filter_takes() {
    let text = predicted(WITH_FILTER, &["--how", "fl1"]);
    for part in [
        "fl1 loses 0.308 psi",
        "through filter fl1: ",
        "loss 0.2 psi (elm.office:",
        "at a flow of 10 scfh (elm.office:",
        "tube d1 -> fl1, piece 2 of 2: ",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    let beyond = predicted(WITH_FILTER, &["--how", "p1"]);
    assert!(
        beyond.contains("through flow-sensor f1, which states no loss"),
        "{beyond}"
    );
    assert!(!beyond.contains("fl1, which states no loss"), "{beyond}");
}

#[test]
fn what_cannot_be_read_is_said() {
    let unread = "air d1 -> r1 -> -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m";
    let text = predicted(unread, &[]);
    let told = text.lines().find(|line| line.starts_with("not read: elm.office:"));
    assert!(
        told.is_some_and(|told| told.contains("one arrow follows another")),
        "{text}"
    );
    let how = predicted(unread, &["--how", "ps1"]);
    assert!(how.contains("not read: elm.office:"), "{how}");
    assert!(how.contains("loop of ps1"), "{how}");
    let nothing = predicted(unread, &["--how", "mf"]);
    assert!(
        nothing.contains("mf: nothing is computed for it, since elm.office:"),
        "{nothing}"
    );
    assert!(!predicted(WITH_FILTER, &[]).contains("not read"));
}

#[test]
fn what_would_be_right_is_told_as_text_and_as_json() {
    let file = "grammar/example.office";
    let output = predict(&[file, "--size", "ps1"]);
    assert_eq!(code(&output), 0, "{}", String::from_utf8_lossy(&output.stderr));
    let text = out(&output);
    assert!(
        text.contains("top of the span, between 10.08 psi and 30.25 psi"),
        "{text}"
    );
    assert!(text.contains("(grammar/example.office:"), "{text}");
    let sizing = &json(&[file, "--size", "ps1 low"])["offices"][0]["sizing"];
    assert_eq!(sizing["figures"][0]["what"], "limit");
    assert!(sizing["figures"][0]["take"].as_f64().unwrap() > 0.0);
    assert!(json(&[file])["offices"][0]["sizing"].is_null());
    // What several offices answer has a blank line between it.
    let folder = tempfile::tempdir().unwrap();
    for (at, name) in ["elm", "fir"].iter().enumerate() {
        fs::write(folder.path().join(format!("{name}.office")), office(name, at)).unwrap();
    }
    let told = |files: &[&str]| out(&run(folder.path(), &[&["predict", "--size", "ps1"], files].concat()));
    let (elm, fir) = (told(&["elm.office"]), told(&["fir.office"]));
    assert!(
        !elm.is_empty() && elm.ends_with('\n') && !elm.ends_with("\n\n"),
        "{elm}"
    );
    assert_eq!(told(&["elm.office", "fir.office"]), format!("{elm}\n{fir}"));
    // What nothing is chosen for says so, and what is not there fails.
    let nothing = predict(&[file, "--size", "mf"]);
    assert!(
        code(&nothing) == 0 && out(&nothing).starts_with("mf: nothing is chosen for a manifold"),
        "{}",
        out(&nothing)
    );
    let unknown = predict(&[file, "--size", "nobody"]);
    assert_eq!((code(&unknown), out(&unknown).as_str()), (2, ""));
}

#[test]
fn parts_of_other_files_are_offered_with_their_places() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("drysheath.toml"), "language = 1\n").unwrap();
    let parts = "part flow-sensor fs-14 { span 0 .. 14 scfh, step 0.1 scfh, error 0.2 scfh, proof 60 psi }\n";
    fs::write(folder.path().join("parts.office"), parts).unwrap();
    let example = fs::read_to_string(root().join("grammar/example.office")).unwrap();
    fs::write(folder.path().join("elm.office"), format!("use parts\n{example}")).unwrap();
    let output = run(folder.path(), &["predict", "elm.office", "--size", "f1"]);
    let text = out(&output);
    assert!(
        text.contains("fs-14 (parts.office:1), span 0 scfh .. 14 scfh, error 0.2 scfh: take this one"),
        "{text}{}",
        String::from_utf8_lossy(&output.stderr)
    );
}
