//! Options of `lint`: which rules are asked for, what is fixed, how much is printed, and the forms that hosts show.

use std::fs;
use std::path::Path;

use serde_json::Value;
use tempfile::TempDir;

use crate::common::{CLEAN, code, command, err, office, out, repository, run};

/// A repository whose office has a pasted dash and a pair with two signals, and a file that nothing is wrong with.
fn wrong() -> TempDir {
    let folder = repository();
    let text = CLEAN
        .replacen("310 m", "310\u{a0}m", 1)
        .replace("tb pair 3 ", "tb pair 2 ")
        .replacen("air d1 ", "air\u{a0}d1 ", 1);
    fs::write(folder.path().join("offices/elm.office"), text).unwrap();
    fs::write(folder.path().join("offices/fir.office"), office("fir-hollow", 1)).unwrap();
    folder
}

fn rules(folder: &Path, arguments: &[&str]) -> Vec<String> {
    let told = out(&run(folder, &[&["lint", "--output", "json"], arguments].concat()));
    let told: Value = serde_json::from_str(&told).unwrap_or_else(|_| panic!("{told}"));
    let results = told["results"].as_array().unwrap();
    let mut rules: Vec<String> = results
        .iter()
        .map(|result| result["rule"].as_str().unwrap().to_owned())
        .collect();
    rules.dedup();
    rules
}

#[test]
fn rules_are_selected_and_left_out_and_that_is_said() {
    let folder = wrong();
    let all = rules(folder.path(), &[]);
    assert!(
        all.contains(&"pair-assigned-twice".to_owned()) && all.contains(&"character-pasted".to_owned()),
        "{all:?}"
    );
    assert_eq!(
        rules(folder.path(), &["--select", "pair-assigned-twice"]),
        ["pair-assigned-twice"]
    );
    let rest = rules(folder.path(), &["--ignore", "pair-assigned-twice,character-pasted"]);
    assert!(!rest.contains(&"pair-assigned-twice".to_owned()), "{rest:?}");
    let output = run(folder.path(), &["lint", "--select", "pair-assigned-twice"]);
    assert_eq!(code(&output), 1);
    assert!(
        out(&output).contains("of other rules left out by --select."),
        "{}",
        out(&output)
    );
    // The user may look away even from what a repository cannot switch off; the output says how much that was.
    let output = run(folder.path(), &["lint", "--select", "loop-without-valve"]);
    assert_eq!(code(&output), 0);
    assert!(
        out(&output).contains("of other rules left out by --select."),
        "{}",
        out(&output)
    );
    let misspelt = run(folder.path(), &["lint", "--ignore", "pair-asigned-twice"]);
    assert_eq!(code(&misspelt), 2);
    assert!(
        err(&misspelt).contains("is `pair-assigned-twice` meant?"),
        "{}",
        err(&misspelt)
    );
}

#[test]
fn quiet_prints_the_results_alone() {
    let folder = wrong();
    let output = run(folder.path(), &["lint", "--quiet"]);
    assert_eq!(code(&output), 1);
    let told = out(&output);
    assert!(
        told.contains("[pair-assigned-twice]") && !told.contains(" in 2 files"),
        "{told}"
    );
    let clean = run(folder.path(), &["lint", "--quiet", "offices/fir.office"]);
    assert_eq!((code(&clean), out(&clean).as_str()), (0, ""));
}

#[test]
fn results_are_counted_by_rule_and_by_file() {
    let folder = wrong();
    let told = out(&run(folder.path(), &["lint", "--output", "counts"]));
    let line = |of: &str| {
        told.lines()
            .find(|line| line.contains(of))
            .unwrap_or_else(|| panic!("{told}"))
    };
    let pasted: Vec<&str> = line("character-pasted").split_whitespace().collect();
    // One result stands for all pasted characters of a file.
    assert_eq!(pasted[2..], ["1", "1", "1"], "{told}");
    let of_file: Vec<&str> = line("offices/elm.office").split_whitespace().collect();
    assert_eq!(of_file[..3], ["1", "1", "0"], "{told}");
    assert!(!told.contains("offices/fir.office"), "{told}");
}

#[test]
fn a_fix_is_shown_made_counted_and_holds() {
    let folder = wrong();
    let path = folder.path().join("offices/elm.office");
    let before = fs::read_to_string(&path).unwrap();
    let shown = run(folder.path(), &["lint", "--fix", "--diff"]);
    assert_eq!(fs::read_to_string(&path).unwrap(), before);
    assert_eq!(code(&shown), 1);
    assert!(
        out(&shown).contains("+air d1 ") && out(&shown).contains("1 result would be fixed in 1 file."),
        "{}",
        out(&shown)
    );
    let fixed = run(folder.path(), &["lint", "--fix"]);
    assert!(out(&fixed).contains("1 result fixed in 1 file."), "{}", out(&fixed));
    let after = fs::read_to_string(&path).unwrap();
    assert_eq!(after, before.replace('\u{a0}', " "));
    // What is not certain stays: which pair was meant is for somebody to decide.
    let left = rules(folder.path(), &[]);
    assert!(left.contains(&"pair-assigned-twice".to_owned()), "{left:?}");
    assert!(!left.contains(&"character-pasted".to_owned()), "{left:?}");
    assert_eq!(code(&fixed), 1);
    let again = run(folder.path(), &["lint", "--fix"]);
    assert!(out(&again).contains("0 results fixed in 0 files."), "{}", out(&again));
    assert_eq!(fs::read_to_string(&path).unwrap(), after);
}

#[test]
fn nothing_is_fixed_that_was_not_asked_for_or_states_something_of_the_plant() {
    let folder = repository();
    let path = folder.path().join("offices/elm.office");
    // Which numbers are spare, and which unit was meant, no program knows.
    let text = CLEAN.replace("spare tb pair 5 .. 25\n", "").replacen("30 psi", "30", 1);
    fs::write(&path, &text).unwrap();
    assert!(!rules(folder.path(), &[]).is_empty());
    run(folder.path(), &["lint", "--fix"]);
    assert_eq!(fs::read_to_string(&path).unwrap(), text);
    let folder = wrong();
    let path = folder.path().join("offices/elm.office");
    let before = fs::read_to_string(&path).unwrap();
    run(folder.path(), &["lint", "--fix", "--ignore", "character-pasted"]);
    assert_eq!(fs::read_to_string(&path).unwrap(), before);
    let stream = run(folder.path(), &["lint", "--fix", "-"]);
    assert_eq!(code(&stream), 2, "{stream:?}");
}

#[test]
fn annotations_and_code_quality_have_the_documented_form() {
    let folder = wrong();
    let told = out(&run(folder.path(), &["lint", "--output", "annotations"]));
    let first = told.lines().next().unwrap();
    assert!(first.starts_with("::error file=offices/elm.office,line="), "{told}");
    assert!(told.lines().all(|line| line.starts_with("::")), "{told}");
    let report = out(&run(folder.path(), &["lint", "--output", "code-quality"]));
    let report: Value = serde_json::from_str(&report).unwrap();
    let issues = report.as_array().unwrap();
    assert!(!issues.is_empty());
    for issue in issues {
        for field in ["description", "check_name", "fingerprint"] {
            assert!(issue[field].as_str().is_some_and(|text| !text.is_empty()), "{issue}");
        }
        assert!(
            ["info", "minor", "major"].contains(&issue["severity"].as_str().unwrap()),
            "{issue}"
        );
        assert_eq!(issue["location"]["path"], "offices/elm.office");
        assert!(issue["location"]["lines"]["begin"].as_u64().unwrap() > 0, "{issue}");
    }
    let prints: std::collections::BTreeSet<&str> = issues
        .iter()
        .map(|issue| issue["fingerprint"].as_str().unwrap())
        .collect();
    assert_eq!(prints.len(), issues.len());
}

#[test]
fn more_annotations_than_are_shown_are_counted() {
    let folder = repository();
    let wrong: Vec<String> = (0..30).map(|at| format!("valve v{at} {{ rating {at}0 }}\n")).collect();
    let wrong = wrong.concat();
    fs::write(folder.path().join("offices/elm.office"), format!("{CLEAN}{wrong}")).unwrap();
    let told = out(&run(folder.path(), &["lint", "--output", "annotations"]));
    assert_eq!(
        told.lines().filter(|line| line.starts_with("::error ")).count(),
        10,
        "{told}"
    );
    let last = told.lines().last().unwrap();
    assert!(
        last.starts_with("::notice title=drysheath::") && last.contains("results more"),
        "{told}"
    );
}

/// A log of the results of a folder.
fn log(folder: &Path) -> String {
    run(folder, &["lint", "--output", "sarif=known.sarif"]);
    fs::read_to_string(folder.join("known.sarif")).unwrap()
}

fn against(folder: &Path) -> (i32, String) {
    let output = run(folder, &["lint", "--baseline", "known.sarif"]);
    (code(&output), out(&output) + &err(&output))
}

#[test]
fn a_baseline_survives_a_moved_line() {
    let folder = wrong();
    log(folder.path());
    let path = folder.path().join("offices/elm.office");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, format!("# Another line.\n\n{text}")).unwrap();
    let (code, told) = against(folder.path());
    assert_eq!(code, 0, "{told}");
    assert!(told.contains(": 0 new, 0 gone"), "{told}");
}

#[test]
fn a_baseline_survives_a_reworded_message() {
    let folder = wrong();
    let mut log: Value = serde_json::from_str(&log(folder.path())).unwrap();
    for result in log["runs"][0]["results"].as_array_mut().unwrap() {
        result["message"]["text"] = Value::String("said in other words".to_owned());
    }
    fs::write(folder.path().join("known.sarif"), log.to_string()).unwrap();
    let (code, told) = against(folder.path());
    assert_eq!(code, 0, "{told}");
}

#[test]
fn a_baseline_survives_a_renamed_file_but_no_copy() {
    let folder = wrong();
    log(folder.path());
    let (was, now) = (
        folder.path().join("offices/elm.office"),
        folder.path().join("offices/north/elm-hollow.office"),
    );
    fs::create_dir(folder.path().join("offices/north")).unwrap();
    fs::copy(&was, &now).unwrap();
    // The copy is a file of its own, with results of its own.
    let (failed, told) = against(folder.path());
    assert_eq!(failed, 1, "{told}");
    fs::remove_file(&was).unwrap();
    let (renamed, told) = against(folder.path());
    assert_eq!(renamed, 0, "{told}");
    assert!(told.contains(": 0 new, 0 gone"), "{told}");
    // Wherever the command stands, and whatever else changed in the file.
    let text = fs::read_to_string(&now).unwrap();
    fs::write(&now, text.replace("rating          20 psi", "rating 20")).unwrap();
    let output = run(
        &folder.path().join("offices"),
        &["lint", "--baseline", "../known.sarif", ".."],
    );
    assert_eq!(code(&output), 1, "{output:?}");
    assert!(out(&output).contains(": 1 new,"), "{}", out(&output));
}

#[test]
fn junit_names_do_not_change_with_the_lines_above() {
    let names = |folder: &Path| -> Vec<String> {
        let told = out(&run(folder, &["lint", "--output", "junit"]));
        let mut names: Vec<String> = told
            .match_indices("<testcase name=\"")
            .map(|(at, start)| told[at + start.len()..].split('"').next().unwrap().to_owned())
            .collect();
        names.sort();
        names
    };
    let folder = wrong();
    let before = names(folder.path());
    assert!(
        before.iter().any(|name| name.starts_with("pair-assigned-twice: ")),
        "{before:?}"
    );
    let mut once = before.clone();
    once.dedup();
    assert_eq!(once, before);
    let path = folder.path().join("offices/elm.office");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, format!("# Another line.\n\n{text}")).unwrap();
    assert_eq!(names(folder.path()), before);
}

#[test]
fn rules_are_told_to_programs() {
    let folder = repository();
    let all: Value = serde_json::from_str(&out(&run(folder.path(), &["rules", "--output", "json"]))).unwrap();
    let listed = out(&run(folder.path(), &["rules"]));
    let rules = all["rules"].as_array().unwrap();
    assert_eq!(
        rules.len(),
        listed.lines().filter(|line| line.starts_with("  ")).count()
    );
    let one = out(&run(folder.path(), &["rules", "character-pasted", "--output", "json"]));
    let one: Value = serde_json::from_str(&one).unwrap();
    assert_eq!(one["rules"][0]["is_fixed_for_certain"], true);
    assert!(rules.contains(&one["rules"][0]));
}

#[test]
fn every_command_has_a_manual_page() {
    let folder = repository();
    let page = out(&run(folder.path(), &["man-page", "lint"]));
    assert!(
        page.contains("drysheath\\-lint") && page.contains("\\-\\-baseline"),
        "{page}"
    );
    let unknown = run(folder.path(), &["man-page", "lnt"]);
    assert_eq!(code(&unknown), 2);
    assert!(err(&unknown).contains("there is no command `lnt`"), "{}", err(&unknown));
}

#[test]
fn every_output_into_a_closed_pipe_ends_quietly() {
    let folder = wrong();
    for arguments in [
        &["shell-completion", "bash"][..],
        &["shell-completion", "zsh"],
        &["man-page"],
        &["man-page", "lint"],
        &["rules"],
        &["rules", "--output", "json"],
        &["predict", "."],
        &["records", "."],
        &["compare", "HEAD", "--output", "json"],
        &["expand", "offices/fir.office"],
        &["lint", "--output", "annotations", "--output", "code-quality"],
        &["--help"],
        &["lint", "--help"],
    ] {
        let mut child = command(folder.path(), arguments)
            .stdout(std::process::Stdio::piped())
            .stderr(std::process::Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let output = crate::common::ended(child, arguments);
        assert_eq!(err(&output).replace("missing: ", ""), "", "{arguments:?}: {output:?}");
        assert!(matches!(output.status.code(), Some(0 | 1)), "{arguments:?}: {output:?}");
    }
}
