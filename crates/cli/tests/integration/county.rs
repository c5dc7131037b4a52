//! The hand-written county is clean at every level, and the faulty offices give exactly the results in their manifest.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use drysheath_rules::{Level, RULES};

use super::common::{copy, run};

/// Rules that no file can show, each with the reason.
const WITHOUT_FILE: &[(&str, &str)] = &[(
    "text-too-large",
    "a file of more than 64 MiB has no place in a repository",
)];

/// The day by which acceptances are judged.
const TODAY: &str = "2026-11-25";

/// File, line, column and rule of a result.
type Found = (String, u64, u64, String);

/// A line of the manifest. Only `drysheath records` gives those without a column.
struct Expected {
    file: String,
    line: u64,
    column: Option<u64>,
    rule: String,
}

fn tests() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../tests")
        .canonicalize()
        .unwrap()
}

fn lint(folder: &Path, arguments: &[&str]) -> Output {
    run(folder, &[&["lint", ".", "--colour", "never"], arguments].concat())
}

/// The results in what a terminal shows: `error: message [rule]`, and in the next line `╭─[ path:line:column ]`.
fn found(shown: &str) -> BTreeSet<Found> {
    let mut rule = "";
    let mut found = BTreeSet::new();
    for line in shown.lines() {
        let starts = ["error: ", "warning: ", "note: "];
        if starts.iter().any(|start| line.starts_with(start)) {
            rule = line
                .strip_suffix(']')
                .and_then(|line| line.rsplit_once('['))
                .map_or("", |(_, rule)| rule);
        } else if let Some((_, place)) = line.split_once("╭─[ ")
            && !rule.is_empty()
        {
            let mut parts = place.trim_end_matches(" ]").rsplitn(3, ':');
            let column = parts.next().unwrap().parse().unwrap();
            let line = parts.next().unwrap().parse().unwrap();
            found.insert((parts.next().unwrap().to_owned(), line, column, rule.to_owned()));
            rule = "";
        }
    }
    found
}

fn manifest() -> Vec<Expected> {
    let text = fs::read_to_string(tests().join("faults/manifest.json")).unwrap();
    let entries: Vec<serde_json::Value> = serde_json::from_str(&text).unwrap();
    let word = |entry: &serde_json::Value, key| entry.get(key).and_then(|value| value.as_str()).unwrap().to_owned();
    let number = |entry: &serde_json::Value, key| entry.get(key).and_then(serde_json::Value::as_u64);
    entries
        .iter()
        .map(|entry| Expected {
            file: word(entry, "file"),
            line: number(entry, "line").unwrap(),
            column: number(entry, "column"),
            rule: word(entry, "rule"),
        })
        .collect()
}

/// What is not found and what is not expected; empty where both are the same.
fn differences<T: Ord + std::fmt::Debug>(expected: &BTreeSet<T>, found: &BTreeSet<T>) -> String {
    let missing: Vec<_> = expected.difference(found).collect();
    let surplus: Vec<_> = found.difference(expected).collect();
    if missing.is_empty() && surplus.is_empty() {
        return String::new();
    }
    format!("not found: {missing:#?}\nnot expected: {surplus:#?}")
}

fn offices(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(offices(&path));
        } else if path.extension().is_some_and(|extension| extension == "office") {
            files.push(path);
        }
    }
    files
}

#[test]
fn the_county_is_clean_at_every_level() {
    let output = lint(&tests().join("county"), &["--fail-on", "note"]);
    let shown = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success(),
        "{shown}{}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert_eq!(found(&shown), BTreeSet::new());
}

#[test]
fn the_county_has_offices_enough() {
    let offices = offices(&tests().join("county/offices"));
    assert!(offices.len() >= 14);
    let longest = offices
        .iter()
        .map(|path| fs::read_to_string(path).unwrap().lines().count())
        .max();
    assert!(longest >= Some(200));
}

#[test]
fn faults_are_found_where_the_manifest_says() {
    // Two of its folders are repositories of their own: their results are about a whole one.
    let folder = tempfile::tempdir().unwrap();
    copy(&tests().join("faults"), folder.path());
    for own in ["language/language-missing", "records/part-unused"] {
        fs::create_dir(folder.path().join(own).join(".git")).unwrap();
    }
    let output = lint(folder.path(), &["--today", TODAY]);
    let found = found(&String::from_utf8(output.stdout).unwrap());
    let expected = manifest().into_iter();
    let expected = expected.filter_map(|one| Some((one.file, one.line, one.column?, one.rule)));
    assert_eq!(differences(&expected.collect(), &found), "");
    assert_eq!(output.status.code(), Some(1));
}

/// What is missing there is what the manifest says, the errors that `lint` gives among it.
#[test]
fn records_find_what_is_missing_where_the_manifest_says() {
    let output = run(
        &tests().join("faults"),
        &["records", "hand-over", "--output", "json", "--today", TODAY],
    );
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let mut found = BTreeSet::new();
    for item in report["offices"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|office| office["missing"].as_array().unwrap())
    {
        let word = |key: &str| item[key].as_str().unwrap().to_owned();
        found.insert((word("file"), item["line"].as_u64().unwrap(), word("rule")));
    }
    let expected = manifest().into_iter();
    let is_error = |rule: &str| RULES.iter().any(|one| one.name() == rule && one.level == Level::Error);
    let expected = expected.filter(|one| one.file.starts_with("hand-over/"));
    let expected = expected.filter(|one| one.column.is_none() || is_error(&one.rule));
    let expected = expected.map(|one| (one.file, one.line, one.rule));
    assert_eq!(differences(&expected.collect(), &found), "");
    assert_eq!(output.status.code(), Some(1));
}

#[test]
fn every_rule_has_a_faulty_office() {
    let shown: BTreeSet<String> = manifest().into_iter().map(|one| one.rule).collect();
    for rule in RULES {
        let excused = WITHOUT_FILE.iter().any(|(name, _)| *name == rule.name());
        assert_ne!(
            shown.contains(rule.name()),
            excused,
            "`{}` wants a file in tests/faults, or a reason why there is none, and not both",
            rule.name()
        );
    }
}

#[test]
fn every_file_says_that_it_is_invented() {
    let folders = [tests().join("county"), tests().join("faults")];
    for path in folders.iter().flat_map(|folder| offices(folder)) {
        let text = String::from_utf8_lossy(&fs::read(&path).unwrap()).into_owned();
        let head: String = text.lines().take_while(|line| line.starts_with('#')).collect();
        let says = head.to_lowercase().contains("invented");
        assert!(says, "{} has no head that says it is invented", path.display());
    }
}
