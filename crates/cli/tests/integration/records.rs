//! The `records` command: every record is complete, its key is stable, and changes since a revision add up.

use std::fs;
use std::path::Path;

use serde_json::Value;
use tempfile::TempDir;

#[cfg(unix)]
use super::common::command;
use super::common::{CLEAN, git, run};

const KEYS: [&str; 4] = [
    "ELMH01/f1/flow",
    "ELMH01/p1/pressure",
    "ELMH01/ps1/pressure",
    "ELMH01/d1/contact/humidity",
];

fn records(folder: &Path, arguments: &[&str]) -> Value {
    let all = [&["records", "--output", "json"], arguments].concat();
    let output = run(folder, &all);
    assert!(!output.stdout.is_empty(), "{output:?}");
    serde_json::from_slice(&output.stdout).unwrap()
}

fn told(folder: &Path, arguments: &[&str]) -> (Option<i32>, String) {
    let output = run(folder, arguments);
    (output.status.code(), String::from_utf8(output.stdout).unwrap())
}

/// The example office, laid out by nobody.
fn plain() -> String {
    let words = CLEAN
        .lines()
        .map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "));
    words.fold(String::new(), |text, line| text + &line + "\n")
}

/// A repository with the example office, committed.
fn repository() -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("drysheath.toml"), "language = 1\n").unwrap();
    fs::create_dir(folder.path().join("offices")).unwrap();
    fs::write(folder.path().join("offices/elm-hollow.office"), CLEAN).unwrap();
    git(folder.path(), &["init", "--quiet"]);
    git(folder.path(), &["add", "."]);
    git(folder.path(), &["commit", "--quiet", "--message", "one office"]);
    folder
}

fn write(folder: &TempDir, text: &str) {
    fs::write(folder.path().join("offices/elm-hollow.office"), text).unwrap();
}

fn keys(report: &Value) -> Vec<String> {
    let records = report["offices"][0]["records"].as_array().unwrap();
    records
        .iter()
        .map(|record| record["key"].as_str().unwrap().to_owned())
        .collect()
}

fn counts(report: &Value) -> Vec<u64> {
    let counts = &report["since"]["counts"];
    let count = |name: &str| counts[name].as_u64().unwrap();
    assert_eq!(count("before") + count("new") - count("withdrawn"), count("after"));
    assert_eq!(count("new") + count("changed") + count("unchanged"), count("after"));
    ["new", "changed", "renamed", "withdrawn", "unchanged"]
        .map(count)
        .to_vec()
}

#[test]
fn a_record_says_all_that_is_to_be_entered() {
    let folder = repository();
    let report = records(folder.path(), &["offices"]);
    assert_eq!(keys(&report), KEYS);
    assert_eq!(report["offices"][0]["missing"], Value::Array(Vec::new()));
    let sensor = &report["offices"][0]["records"][2];
    let place = &sensor["place"];
    assert_eq!(
        (place["line"].as_str(), place["section"].as_str()),
        (Some("c101"), Some("s2"))
    );
    assert_eq!(place["distance"], "3.2 km");
    assert_eq!(
        (sensor["unit"].as_str(), sensor["span"].clone()),
        (Some("psi"), serde_json::json!([0.0, 15.0]))
    );
    assert_eq!(
        sensor["limits"],
        serde_json::json!([{ "level": "low", "value": 6.7, "severity": "minor", "deadband": 0.3 }])
    );
    // Pair 37 is the twelfth of the second group.
    let pair = &sensor["cable_pairs"][0];
    assert_eq!(pair["colours"], serde_json::json!({ "tip": "BK", "ring": "OR" }));
    assert_eq!(pair["binder"]["group"], 2);
    // 3.2 km of 24 AWG there and back, at 84.2 ohm/km of wire.
    assert!(
        (sensor["loop"]["at_20_ohm"].as_f64().unwrap() - 539.0).abs() < 1.0,
        "{sensor}"
    );
    assert_eq!(report["offices"][0]["records"][3]["healthy"], "closed");
}

#[test]
fn keys_stay_when_other_things_change() {
    let folder = repository();
    let moved = plain()
        .replace(
            "c101 pair 37 -> tb pair 3 -> m1 sensor 3",
            "c101 pair 38 -> tb pair 7 -> m1 sensor 5",
        )
        .replace("c101 3.2 km", "c101 3.1 km");
    write(&folder, &format!("# A line more.\n\n{moved}"));
    let report = records(folder.path(), &["offices"]);
    let (mut now, mut before) = (keys(&report), KEYS.map(str::to_owned).to_vec());
    now.sort();
    before.sort();
    assert_eq!(now, before);
}

#[test]
fn csv_has_a_line_for_each_record_and_crlf() {
    let folder = repository();
    let (code, csv) = told(folder.path(), &["records", "offices", "--output", "csv"]);
    assert_eq!(code, Some(0));
    let lines: Vec<&str> = csv.split_terminator("\r\n").collect();
    assert_eq!(lines.len(), 1 + KEYS.len());
    assert!(lines[0].starts_with("key,office,title,site,monitor,"));
    assert!(!csv.replace("\r\n", "").contains('\n'));
}

#[cfg(unix)]
#[test]
fn csv_of_a_few_offices_needs_no_temporary_folder() {
    let folder = repository();
    let arguments = ["records", "offices", "--output", "csv"];
    let mut without = command(folder.path(), &arguments);
    without.env("TMPDIR", folder.path().join("gone"));
    let output = without.output().unwrap();
    assert_eq!(output, run(folder.path(), &arguments));
    assert!(output.status.success() && !output.stdout.is_empty(), "{output:?}");
}

#[test]
fn nothing_changes_where_only_lines_and_layout_do() {
    let folder = repository();
    write(&folder, &format!("# A comment.\n\n{}", plain()));
    let report = records(folder.path(), &["offices", "--since", "HEAD"]);
    assert_eq!(counts(&report), [0, 0, 0, 0, 4]);
}

#[test]
fn a_change_is_told_field_by_field() {
    let folder = repository();
    write(&folder, &plain().replace("low 6.7 psi minor", "low 4 psi major"));
    let report = records(folder.path(), &["offices", "--since", "HEAD"]);
    assert_eq!(counts(&report), [0, 1, 0, 0, 3]);
    let changed = &report["since"]["changed"][0];
    assert_eq!(changed["key"], "ELMH01/ps1/pressure");
    assert_eq!(
        changed["fields"],
        serde_json::json!([
            { "field": "low", "old": "6.7", "new": "4" },
            { "field": "low_severity", "old": "minor", "new": "major" },
        ])
    );
    let (_, page) = told(folder.path(), &["records", "offices", "--since", "HEAD"]);
    assert!(
        page.contains("4 before + 0 new - 0 withdrawn = 4 now; 1 changed, 3 as before."),
        "{page}"
    );
    // What is as before is not in the way, unless it is asked for.
    assert!(
        page.contains("ELMH01/ps1/pressure") && !page.contains("ELMH01/p1/pressure"),
        "{page}"
    );
    let (_, page) = told(folder.path(), &["records", "offices", "--since", "HEAD", "--all"]);
    assert!(page.contains("ELMH01/p1/pressure"), "{page}");
    let (_, csv) = told(
        folder.path(),
        &["records", "offices", "--since", "HEAD", "--output", "csv"],
    );
    assert!(
        csv.contains("changed,low: 6.7 -> 4; low_severity: minor -> major,ELMH01/ps1/pressure,"),
        "{csv}"
    );
    assert!(csv.starts_with("state,changes,key,"));
}

#[test]
fn another_name_is_no_other_device() {
    let folder = repository();
    write(&folder, &plain().replace("ps1", "ps-far"));
    let report = records(folder.path(), &["offices", "--since", "HEAD"]);
    assert_eq!(counts(&report), [0, 1, 1, 0, 3]);
    let changed = &report["since"]["changed"][0];
    assert_eq!(
        (changed["was_key"].as_str(), changed["key"].as_str()),
        (Some(KEYS[2]), Some("ELMH01/ps-far/pressure"))
    );
    assert_eq!(
        changed["fields"],
        serde_json::json!([{ "field": "device", "old": "ps1", "new": "ps-far" }])
    );
    // Another site code renames all of them.
    write(&folder, &plain().replace("ELMH01", "ELMH02"));
    assert_eq!(
        counts(&records(folder.path(), &["offices", "--since", "HEAD"])),
        [0, 4, 4, 0, 0]
    );
    // Nor is another limit with it: it is where it was, on the pairs and the input where it was.
    write(
        &folder,
        &plain().replace("ps1", "ps-far").replace("low 6.7 psi", "low 4 psi"),
    );
    let report = records(folder.path(), &["offices", "--since", "HEAD"]);
    assert_eq!(counts(&report), [0, 1, 1, 0, 3]);
    assert_eq!(
        report["since"]["changed"][0]["fields"],
        serde_json::json!([
            { "field": "device", "old": "ps1", "new": "ps-far" },
            { "field": "low", "old": "6.7", "new": "4" },
        ])
    );
    // Elsewhere on the cable, on another pair and another input it is another one.
    write(
        &folder,
        &plain()
            .replace("ps1", "ps-far")
            .replace("c101 3.2 km", "c101 2.9 km")
            .replace(
                "c101 pair 37 -> tb pair 3 -> m1 sensor 3",
                "c101 pair 38 -> tb pair 7 -> m1 sensor 5",
            ),
    );
    assert_eq!(
        counts(&records(folder.path(), &["offices", "--since", "HEAD"])),
        [1, 0, 0, 1, 3]
    );
}

#[test]
fn names_that_change_together_are_followed() {
    let folder = repository();
    let since = ["offices", "--since", "HEAD"];
    // The site code and a device; the monitor and a device, whose input is known by the monitor's name.
    for more in [("ELMH01", "ELMH02"), ("m1", "mon")] {
        write(&folder, &plain().replace("ps1", "ps-far").replace(more.0, more.1));
        let report = records(folder.path(), &since);
        let counts = counts(&report);
        assert_eq!((counts[0], counts[1], counts[3]), (0, 4, 0), "{more:?}");
        let changed = report["since"]["changed"].as_array().unwrap();
        let far = changed
            .iter()
            .find(|changed| changed["key"].as_str().unwrap().ends_with("/ps-far/pressure"));
        assert_eq!(far.unwrap()["was_key"], KEYS[2], "{more:?}");
    }
    // The file and the office's name: the site code tells which it is.
    fs::remove_file(folder.path().join("offices/elm-hollow.office")).unwrap();
    let moved = plain()
        .replace("office elm-hollow", "office elm-annex")
        .replace("ps1", "ps-far");
    fs::write(folder.path().join("offices/elm-annex.office"), moved).unwrap();
    assert_eq!(counts(&records(folder.path(), &since)), [0, 4, 1, 0, 0]);
}

#[test]
fn new_and_withdrawn_records_balance() {
    let folder = repository();
    let without = plain().replace("wire ps1 -> c101 pair 37", "# wire ps1 -> c101 pair 37");
    let without: String = without
        .lines()
        .filter(|line| !line.contains("wire ps1"))
        .fold(String::new(), |text, line| text + line + "\n");
    write(&folder, &without);
    let report = records(folder.path(), &["offices", "--since", "HEAD"]);
    assert_eq!(counts(&report), [0, 0, 0, 1, 3]);
    assert_eq!(report["since"]["withdrawn"][0]["key"], KEYS[2]);
    // An office that is new as a whole, in a file that git does not know yet; and one that is gone.
    write(&folder, &plain());
    fs::write(
        folder.path().join("offices/other.office"),
        plain().replace("ELMH01", "OTHR01").replace("elm-hollow", "other"),
    )
    .unwrap();
    assert_eq!(
        counts(&records(folder.path(), &["offices", "--since", "HEAD"])),
        [4, 0, 0, 0, 4]
    );
    fs::remove_file(folder.path().join("offices/elm-hollow.office")).unwrap();
    assert_eq!(
        counts(&records(folder.path(), &["offices", "--since", "HEAD"])),
        [4, 0, 0, 4, 0]
    );
    // A file that is named is compared with itself alone.
    let report = records(folder.path(), &["offices/other.office", "--since", "HEAD"]);
    assert_eq!(counts(&report), [4, 0, 0, 0, 0]);
}

#[test]
fn a_changed_part_changes_its_records() {
    let folder = TempDir::new().unwrap();
    assert!(run(folder.path(), &["start", "."]).status.success());
    git(folder.path(), &["init", "--quiet"]);
    git(folder.path(), &["add", "."]);
    git(folder.path(), &["commit", "--quiet", "--message", "as started"]);
    let part = folder.path().join("parts/field-sensors.office");
    let text = fs::read_to_string(&part).unwrap();
    fs::write(&part, text.replace("0 .. 15 psi", "0 .. 20 psi")).unwrap();
    let report = records(folder.path(), &["offices", "--since", "HEAD"]);
    assert_eq!(counts(&report), [0, 1, 0, 0, 3]);
    assert_eq!(
        report["since"]["changed"][0]["fields"],
        serde_json::json!([{ "field": "span_to", "old": "15", "new": "20" }])
    );
}

#[test]
fn what_is_missing_comes_before_anyone_is_called() {
    let folder = repository();
    let lacking = plain()
        .replace("low 6.7 psi minor deadband 0.3 psi", "low 6.7 psi")
        .replace("gauge 24 awg\n", "")
        .replace("-> c101 pair 37 -> tb pair 3", "-> tb pair 3")
        .replace("stage installed", "stage planned");
    write(&folder, &lacking);
    let (code, note) = told(folder.path(), &["records", "offices", "--note"]);
    assert_eq!(code, Some(1));
    assert!(
        note.starts_with("Elm Hollow (ELMH01): not yet ready to test, "),
        "{note}"
    );
    for what in [
        "office `elm-hollow` is still planned, so there is nothing to test yet [office-still-planned]",
        "the low limit of `ps1`, 6.7 psi, has no severity and no deadband [limit-incomplete]",
        "`ps1`, out on `c101`, comes to sensor input 3 of `m1` over no cable pair [cable-pair-missing]",
    ] {
        assert!(note.contains(what), "{what}: {note}");
    }
    assert!(!note.contains("ready to test.\n"));
    // Errors in the office, and a loop that cannot be computed.
    write(
        &folder,
        &plain()
            .replace("site \"ELMH01\"\n", "")
            .replace("gauge 24 awg\n", "")
            .replace("set 10 psi", "set 25 psi"),
    );
    let (code, page) = told(folder.path(), &["records", "offices"]);
    assert_eq!(code, Some(1));
    assert!(page.contains("cable `c101` has no `gauge`"), "{page}");
    assert!(
        page.contains("the office `elm-hollow` has no site code, by which its records are known"),
        "{page}"
    );
    assert!(!page.contains("loop-unknown"), "one lack is said once: {page}");
    assert!(page.contains("regulator-"), "{page}");
}

fn missing(report: &Value) -> Vec<&str> {
    let items = report["offices"][0]["missing"].as_array().unwrap();
    items.iter().map(|item| item["rule"].as_str().unwrap()).collect()
}

#[test]
fn what_is_missing_can_be_accepted_or_switched_off() {
    let folder = repository();
    let lacking = plain()
        .replace("low 6.7 psi minor deadband 0.3 psi", "low 6.7 psi minor")
        .replace("-> c101 pair 37 -> tb pair 3", "-> tb pair 3");
    write(&folder, &lacking);
    let office = ["offices", "--today", "2026-11-25"];
    assert_eq!(
        missing(&records(folder.path(), &office)),
        ["cable-pair-missing", "limit-incomplete"]
    );
    let accepted = lacking
        + "accept cable-pair-missing on ps1 because \"the splice is not opened yet\" until 2027-04-30\n\
           accept monitor-link-missing on m1 because \"it comes with the lease\" until 2027-04-30\n";
    write(&folder, &accepted);
    // What no longer needs its acceptance is said where the rule is asked.
    let expected = ["limit-incomplete", "acceptance-unneeded"];
    assert_eq!(missing(&records(folder.path(), &office)), expected);
    let settings = "language = 1\n[levels]\nlimit-incomplete = \"off\"\n";
    fs::write(folder.path().join("drysheath.toml"), settings).unwrap();
    assert_eq!(missing(&records(folder.path(), &office)), ["acceptance-unneeded"]);
    write(
        &folder,
        &accepted.replace("accept monitor-link-missing", "# accept monitor-link-missing"),
    );
    let report = records(folder.path(), &office);
    assert_eq!(missing(&report), [""; 0]);
    // The record itself is as it was: nothing is made up for what is accepted.
    let record = report["offices"][0]["records"]
        .as_array()
        .unwrap()
        .iter()
        .find(|record| record["device"] == "ps1")
        .unwrap();
    assert_eq!(record["cable_pairs"].as_array().map(Vec::len), Some(0));
    assert!(record["limits"][0]["deadband"].is_null(), "{record}");
    let (code, _) = told(folder.path(), &[&["records"], &office[..]].concat());
    assert_eq!(code, Some(0));
}

#[test]
fn lint_neither_asks_for_the_hand_over_nor_judges_its_acceptances() {
    let folder = repository();
    let lacking = plain().replace("stage installed", "stage planned")
        + "accept office-still-planned on elm-hollow because \"it comes with the lease\" until 2027-04-30\n\
           accept span-missing on ps1 because \"nothing needs this\" until 2027-04-30\n";
    write(&folder, &lacking);
    let lint = ["lint", "offices", "--today", "2026-11-25", "--fail-on", "note"];
    let (code, shown) = told(folder.path(), &lint);
    assert!(
        shown.ends_with("\n0 errors, 0 warnings, 0 notes in 1 file\n"),
        "{shown}"
    );
    assert_eq!(code, Some(0));
    // An acceptance that has expired is one of lint's results, whatever it accepted.
    let late = ["lint", "offices", "--today", "2027-05-01", "--fail-on", "note"];
    let (code, shown) = told(folder.path(), &late);
    assert_eq!(
        (code, shown.matches("[acceptance-expired]").count()),
        (Some(1), 2),
        "{shown}"
    );
}

#[test]
fn the_note_tells_what_is_where_and_who_tests_what() {
    let folder = repository();
    write(&folder, &plain().replace("low 6.7 psi", "low 4 psi"));
    let (code, note) = told(folder.path(), &["records", "offices", "--note", "--since", "HEAD"]);
    assert_eq!(code, Some(0));
    for part in [
        "Elm Hollow (ELMH01): the unit is in place and ready to test.",
        "Monitor m1 reports over lan 192.0.2.11; 4 of its 12 inputs are in use.",
        "  CHANGED m1 sensor 3: ps1 pressure, c101 3.2 km, tb pair 3 WH-GN, c101 pair 37 BK-OR",
        "  m1 contact 1: d1 contact humidity, in the office, tb pair 4 WH-BR, closed while all is well",
        "At the office: read f1 and p1 beside you, and open the pairs of d1 at the block",
        "Out on the cable: measure the loop",
        "Local practice goes before anything said here.",
        "Local\ncodes and licensed people govern.",
    ] {
        assert!(note.contains(part), "{part}\n{note}");
    }
}

#[test]
fn what_git_cannot_tell_is_said_in_words() {
    let folder = repository();
    let output = run(folder.path(), &["records", "offices", "--since", "no-such"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        String::from_utf8_lossy(&output.stderr).contains("git knows no revision `no-such` here"),
        "{output:?}"
    );
}
