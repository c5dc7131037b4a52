//! What the commonest edits cost: lines touched in the county, as git counts them. Each leaves the county without results.

use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::common::{code, commit, git, out, run};

/// The county in a repository of git.
fn county() -> TempDir {
    let folder = TempDir::new().unwrap();
    copy(
        &Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/county"),
        folder.path(),
    );
    git(folder.path(), &["init", "--quiet", "--initial-branch", "main"]);
    commit(folder.path(), "start");
    folder
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let (path, to) = entry.map(|entry| (entry.path(), to.join(entry.file_name()))).unwrap();
        if path.is_dir() {
            copy(&path, &to);
        } else {
            fs::copy(path, to).unwrap();
        }
    }
}

/// Replaces a line of a file by others.
fn replace(folder: &Path, file: &str, line: &str, by: &[&str]) {
    let path = folder.join(file);
    let text = fs::read_to_string(&path).unwrap();
    assert_eq!(text.lines().filter(|own| *own == line).count(), 1, "{line}");
    fs::write(&path, text.replace(&format!("{line}\n"), &(by.join("\n") + "\n"))).unwrap();
}

/// Lines added and deleted by file, once the county with the edit has neither a result nor a line out of its column.
fn touched(folder: &Path) -> String {
    let linted = run(folder, &["lint", "--fail-on", "note", "--today", "2026-11-25"]);
    assert_eq!(code(&linted), 0, "{}", out(&linted));
    assert_eq!(code(&run(folder, &["format", "--check"])), 0);
    out(&git(folder, &["diff", "--numstat"])).replace('\t', " ")
}

const OFFICE: &str = "offices/ashlar-cross.office";
const LAST_SENSOR: &str = "pressure-sensor ps-2b       : field-pressure-15 { at c2 6.5 kft,          normal 8.7 psi,         limit low 7.5 psi major deadband 0.3 psi }";
const LAST_WIRE: &str = "wire ps-2b                  -> c2 pair 100      -> tb pair 14       -> m1 sensor 14";

#[test]
fn another_field_sensor_takes_two_lines() {
    let county = county();
    let sensor = "pressure-sensor ps-2c       : field-pressure-15 { at c2 5 kft,            limit low 7.5 psi major deadband 0.3 psi }";
    let wire = "wire ps-2c                  -> c2 pair 98       -> tb pair 17       -> m1 sensor 17";
    replace(county.path(), OFFICE, LAST_SENSOR, &[sensor, LAST_SENSOR]);
    replace(county.path(), OFFICE, LAST_WIRE, &[LAST_WIRE, wire]);
    assert_eq!(touched(county.path()), format!("2 0 {OFFICE}\n"));
}

#[test]
fn a_pair_that_goes_bad_takes_three_and_says_why() {
    let county = county();
    let bad = "defective c2 pair 100 because \"open between the second and the third manhole\"";
    replace(
        county.path(),
        OFFICE,
        LAST_WIRE,
        &[&LAST_WIRE.replace("pair 100", "pair 98 "), bad],
    );
    assert_eq!(touched(county.path()), format!("2 1 {OFFICE}\n"));
}

#[test]
fn the_temperature_that_a_county_reckons_its_loops_at_is_one_line() {
    let county = county();
    let (was, now) = ("    hottest         60 degC", "    hottest         65 degC");
    replace(county.path(), "parts/region.office", was, &[now]);
    assert_eq!(touched(county.path()), "1 1 parts/region.office\n");
    // It reaches the offices.
    let compared = out(&run(county.path(), &["compare", "HEAD"]));
    assert!(compared.contains("hottest: 60 degC → 65 degC"), "{compared}");
    assert!(
        compared.contains("of parts or settings alone") || compared.contains("touched by parts"),
        "{compared}"
    );
}
