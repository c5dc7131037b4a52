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
    let compared = out(&run(county.path(), &["compare", "HEAD", "--all"]));
    assert!(compared.contains("hottest: 60 degC, now 65 degC"), "{compared}");
    assert!(compared.contains("affected by parts or settings alone"), "{compared}");
}

const SMALL: &str = "offices/linnet-gate.office";

#[test]
fn another_bracket_takes_eight() {
    let county = county();
    // The cable that it is for has been laid and wired, and waits for its air.
    replace(
        county.path(),
        SMALL,
        "air d1                      -> b1/r             with 3/8 in tube,    1/4 in bore,    3 m",
        &[
            "manifold mf                 { ports 4,                rating 30 psi }",
            "air d1                      -> mf               with 3/8 in tube,    1/4 in bore,    2 m",
            "air mf port 1               -> b1/r             with 3/8 in tube,    1/4 in bore,    1 m",
            "spare mf port rest",
            "cable c2                    { pairs 25,               gauge 24 awg,           rating 12 psi,          section s1 { buried 1.2 km, resistance 0.16 psi/scfh/kft, usage 1.5 scfh } }",
            "pressure-sensor ps-2        : field-pressure-15 { at c2 1.2 km,           limit low 7.2 psi minor deadband 0.3 psi }",
            "wire ps-2                   -> c2 pair 25       -> tb pair 7",
            "spare c2 pair rest",
        ],
    );
    assert_eq!(code(&run(county.path(), &["format", SMALL])), 0);
    commit(county.path(), "a cable");
    let path = county.path().join(SMALL);
    let text = fs::read_to_string(&path).unwrap();
    let after = "air mf port 1";
    let at = text.find(after).unwrap();
    let bracket = "\
assembly b2 : bracket {
    r               { set 9 psi }
    f               { normal 1.5 scfh,        limit high 4 scfh minor deadband 0.4 scfh }
    p               { limit low 7.5 psi major deadband 0.3 psi }
}
air mf port 2               -> b2/r             with 3/8 in tube,    1/4 in bore,    1 m
air b2/f                    -> c2               with 3/8 in tube,    1/4 in bore,    5 m
wire b2/l pair 1 .. 2       -> tb pair 5 .. 6
";
    fs::write(&path, format!("{}{bracket}{}", &text[..at], &text[at..])).unwrap();
    assert_eq!(touched(county.path()), format!("8 0 {SMALL}\n"));
}

#[test]
fn a_trunk_between_two_offices_takes_twelve_in_three_files() {
    const NEAR: &str = "offices/twin-sluice.office";
    const FAR: &str = "offices/tallow-street.office";
    let county = county();
    let text = |file: &str| fs::read_to_string(county.path().join(file)).unwrap();
    let route = "\
# From Twin Sluice to Tallow Street. Invented.
route t9                    { title \"Trunk 9\",        from offices/twin-sluice,       to offices/tallow-street }
cable t                     { pairs 50,               gauge 22 awg,           rating 15 psi,          section s1 { buried 6 km,            resistance 0.6 psi/scfh/kft,    usage 0.1 scfh } }
";
    fs::write(county.path().join("routes/t9.office"), route).unwrap();
    for (file, feed, more) in [
        (
            NEAR,
            "air mf port 5               -> t                with 3/8 in tube,    1/4 in bore,    6 m",
            &[
                "pressure-sensor ps-t        : field-pressure-15 { at t 5.5 km,            limit low 7 psi minor deadband 0.3 psi }",
                "wire ps-t                   -> t pair 50        -> tb pair 40       -> m1 sensor 24",
            ][..],
        ),
        (
            FAR,
            "air mf-b port 4             -> t end            with 3/8 in tube,    1/4 in bore,    20 ft",
            &[],
        ),
    ] {
        let office = text(file);
        let used = office.replacen("use parts/county\n", "use parts/county\nuse routes/t9\n", 1);
        let lines: Vec<&str> = more.iter().copied().chain([feed, "spare t pair rest"]).collect();
        fs::write(county.path().join(file), format!("{used}{}\n", lines.join("\n"))).unwrap();
    }
    git(county.path(), &["add", "--intent-to-add", "."]);
    assert_eq!(
        touched(county.path()),
        format!("3 0 {FAR}\n5 0 {NEAR}\n3 0 routes/t9.office\n")
    );
}

#[test]
fn a_change_of_a_route_or_a_drawing_reaches_the_offices() {
    let county = county();
    let edit = |file: &str, from: &str, to: &str| {
        let path = county.path().join(file);
        let text = fs::read_to_string(&path).unwrap();
        assert_eq!(text.matches(from).count(), 1, "{from}");
        fs::write(path, text.replace(from, to)).unwrap();
    };
    let compared = || {
        out(&run(
            county.path(),
            &["compare", "HEAD", "--all", "--today", "2026-11-25"],
        ))
    };
    edit("routes/mill-trunk.office", "usage 0.4 scfh", "usage 2.4 scfh");
    let told = compared();
    for office in ["barrow-lea", "fennel-ford"] {
        let of_office = told.split("\n\n").find(|told| told.starts_with(office)).unwrap();
        assert!(
            of_office.contains("changed  trunk section s2 usage: 0.4 scfh, now 2.4 scfh"),
            "{told}"
        );
    }
    assert!(told.contains("figure   reading of f1"), "{told}");
    edit("routes/mill-trunk.office", "usage 2.4 scfh", "usage 0.4 scfh");
    edit("parts/bracket.office", "spare r outlet 3\n", "");
    let told = compared();
    for office in ["linnet-gate", "otter-steps"] {
        let of_office = told.split("\n\n").find(|told| told.starts_with(office)).unwrap();
        assert!(of_office.contains("no longer spare b1/r outlet 3"), "{told}");
        assert!(of_office.contains("[outlet-open]"), "{told}");
    }
}
