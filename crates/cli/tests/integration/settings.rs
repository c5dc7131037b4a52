//! Settings of folders in a repository: the nearest file wins key by key.

use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::common::{CLEAN, code, commit, err, out, repository, run};

/// A repository with an office at `offices` and one at `north/offices`, and settings for `north`.
fn two_counties(top: &str, north: &str) -> TempDir {
    let folder = repository();
    write(folder.path(), "drysheath.toml", top);
    write(folder.path(), "north/drysheath.toml", north);
    let other = CLEAN
        .replace("192.0.2.11", "192.0.2.12")
        .replace("ELMH01", "FORD01")
        .replace("office elm-hollow", "office ford");
    write(folder.path(), "north/offices/ford.office", &other);
    folder
}

fn write(folder: &Path, path: &str, text: &str) {
    let path = folder.join(path);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, text).unwrap();
}

/// The lines of results, as `FILE rule`.
fn lint(folder: &Path, at: &str) -> (i32, Vec<String>) {
    let output = run(folder, &["lint", "--output", "json", at]);
    let told: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{}", err(&output)));
    let results = told["results"].as_array().unwrap().iter();
    let shown = results.map(|result| {
        let path = result["place"]["file"].as_str().unwrap();
        format!("{path} {}", result["rule"].as_str().unwrap())
    });
    (code(&output), shown.collect())
}

#[test]
fn a_county_says_what_is_other_there() {
    let folder = two_counties(
        "language = 1\n[practice]\nminimum-buried = \"1 psi\"\nduty-cycle = \"80 %\"\n",
        "[practice]\nduty-cycle = \"0.1 %\"\n",
    );
    let output = run(folder.path(), &["lint"]);
    let told = out(&output);
    assert!(
        told.contains("0.1 % is allowed (`duty-cycle` in north/drysheath.toml)"),
        "{told}"
    );
    assert!(!told.contains("offices/elm.office:"), "{told}");
    // Also where only the county is linted, from within it.
    let inner = run(&folder.path().join("north"), &["lint"]);
    assert!(
        out(&inner).contains("(`duty-cycle` in north/drysheath.toml)"),
        "{}",
        out(&inner)
    );
}

#[test]
fn a_county_cannot_take_away_what_is_required_above() {
    let top = "language = 1\n[levels]\nelevation-missing = \"error\"\n";
    let folder = two_counties(top, "[levels]\nelevation-missing = \"off\"\n");
    let office = folder.path().join("north/offices/ford.office");
    let text = fs::read_to_string(&office).unwrap();
    let lines: Vec<&str> = text
        .lines()
        .filter(|line| !line.trim().starts_with("elevation"))
        .collect();
    fs::write(&office, lines.join("\n") + "\n").unwrap();
    let (code, results) = lint(folder.path(), ".");
    assert_eq!(code, 1);
    let expected = [
        "north/drysheath.toml settings-unreadable",
        "north/offices/ford.office elevation-missing",
    ];
    assert_eq!(results, expected);
}

#[test]
fn results_across_files_have_the_level_of_their_folder() {
    let folder = two_counties("language = 1\n", "[levels]\npart-unused = \"error\"\n");
    for parts in ["parts/a.office", "north/parts/b.office"] {
        write(folder.path(), parts, "part block spare-block { pairs 25 }\n");
    }
    let output = run(folder.path(), &["lint", "--output", "json"]);
    let told: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let mut levels: Vec<(&str, &str)> = told["results"]
        .as_array()
        .unwrap()
        .iter()
        .map(|result| {
            (
                result["place"]["file"].as_str().unwrap(),
                result["level"].as_str().unwrap(),
            )
        })
        .collect();
    levels.sort_unstable();
    assert_eq!(
        levels,
        [("north/parts/b.office", "error"), ("parts/a.office", "warning")]
    );
}

#[test]
fn parts_of_the_root_serve_all_folders() {
    let folder = two_counties("language = 1\n", "");
    write(folder.path(), "parts/bays.office", "part block bay { pairs 25 }\n");
    let office = folder.path().join("north/offices/ford.office");
    let text = fs::read_to_string(&office).unwrap();
    fs::write(
        &office,
        format!("use parts/bays\n{text}block spare-tb : bay\nspare spare-tb pair rest\n"),
    )
    .unwrap();
    let (code, results) = lint(folder.path(), ".");
    assert_eq!((code, results), (0, Vec::new()));
}

#[test]
fn another_number_of_the_language_is_an_error() {
    let folder = two_counties("language = 1\n", "language = 2\n");
    let (code, results) = lint(folder.path(), ".");
    assert_eq!(
        (code, results),
        (1, vec!["north/drysheath.toml settings-unreadable".to_owned()])
    );
    // The number of today may be repeated.
    write(folder.path(), "north/drysheath.toml", "language = 1\n");
    assert_eq!(lint(folder.path(), "."), (0, Vec::new()));
}

#[test]
fn settings_beyond_the_working_tree_do_not_hold() {
    let outer = tempfile::tempdir().unwrap();
    write(
        outer.path(),
        "drysheath.toml",
        "language = 1\n[levels]\nelevation-missing = \"off\"\n",
    );
    let inner = outer.path().join("inner");
    fs::create_dir_all(inner.join(".git")).unwrap();
    write(&inner, "drysheath.toml", "language = 1\n");
    let text: Vec<&str> = CLEAN
        .lines()
        .filter(|line| !line.trim().starts_with("elevation"))
        .collect();
    write(&inner, "elm.office", &(text.join("\n") + "\n"));
    assert_eq!(lint(&inner, ".").1, ["elm.office elevation-missing"]);
}

#[test]
fn a_comparison_names_the_file_in_which_a_setting_stands() {
    let folder = two_counties(
        "language = 1\n[practice]\nleak-size = \"5 scfh\"\n",
        "[practice]\ndryer-margin = \"20 %\"\n",
    );
    commit(folder.path(), "counties");
    let compared = || -> serde_json::Value {
        let output = run(folder.path(), &["compare", "HEAD", "--output", "json"]);
        serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{}", err(&output)))
    };
    // What the county takes from above is told there, once.
    write(
        folder.path(),
        "drysheath.toml",
        "language = 1\n[practice]\nleak-size = \"6 scfh\"\n",
    );
    let told = compared();
    let expected = serde_json::json!([
        { "file": "drysheath.toml", "name": "leak-size", "before": "5 scfh", "after": "6 scfh" }
    ]);
    assert_eq!(told["settings"], expected);
    write(
        folder.path(),
        "drysheath.toml",
        "language = 1\n[practice]\nleak-size = \"5 scfh\"\n",
    );
    write(folder.path(), "north/drysheath.toml", "");
    let told = compared();
    let expected = serde_json::json!([
        { "file": "north/drysheath.toml", "name": "dryer-margin", "before": "20 %", "after": "25 %" }
    ]);
    assert_eq!(told["settings"], expected);
}

#[test]
fn a_new_repository_is_not_started_inside_another() {
    let folder = repository();
    let output = run(folder.path(), &["start", "north"]);
    assert_eq!(code(&output), 2);
    assert!(err(&output).contains("drysheath.toml"), "{}", err(&output));
    assert!(!folder.path().join("north").exists());
}
