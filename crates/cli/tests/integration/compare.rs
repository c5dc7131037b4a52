//! `compare` and `lint --since` in a real git repository.

use std::fs;
use std::path::Path;
use std::process::Output;

use serde_json::Value;
use tempfile::TempDir;

use super::common::{CLEAN, code, command, err, git_command, out, run};

const TODAY: &str = "2026-11-25";

/// A git repository with three offices that share a file of parts.
struct Repository {
    folder: TempDir,
}

impl Repository {
    fn new() -> Self {
        let repository = Self {
            folder: tempfile::tempdir().unwrap(),
        };
        repository.git(&["init", "--quiet", "--initial-branch", "main"]);
        repository.write("drysheath.toml", "language = 1\n");
        repository.write(
            "parts/field.office",
            "part pressure-sensor field-15 {\n    span 0 .. 15 psi\n    step 0.1 psi\n    error 0.2 psi\n    proof 30 psi\n}\n",
        );
        for (at, name) in ["elm", "fir", "oak"].iter().enumerate() {
            repository.write(&format!("offices/{name}.office"), &office(name, at));
        }
        repository.commit("start");
        repository
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn git(&self, arguments: &[&str]) -> Output {
        let output = git_command(self.path(), arguments).output().unwrap();
        let may_fail = arguments.contains(&"merge");
        assert!(
            output.status.success() || may_fail,
            "git {arguments:?}: {}",
            err(&output)
        );
        output
    }

    fn commit(&self, message: &str) {
        self.git(&["add", "--all"]);
        self.git(&["commit", "--quiet", "--message", message]);
    }

    fn write(&self, path: &str, text: &str) {
        let path = self.path().join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    fn edit(&self, path: &str, from: &str, to: &str) {
        let text = fs::read_to_string(self.path().join(path)).unwrap();
        assert!(text.contains(from), "{path} has no {from}");
        self.write(path, &text.replace(from, to));
    }

    fn run(&self, arguments: &[&str]) -> Output {
        run(self.path(), arguments)
    }

    fn compare(&self, arguments: &[&str]) -> Output {
        self.run(&[&["compare", "--today", TODAY], arguments].concat())
    }

    fn json(&self, arguments: &[&str]) -> Value {
        let output = self.compare(&[&["--output", "json"], arguments].concat());
        serde_json::from_str(&out(&output)).unwrap_or_else(|_| Value::String(err(&output)))
    }
}

fn office(name: &str, at: usize) -> String {
    let office = CLEAN
        .replace("elm-hollow", name)
        .replace("Elm Hollow", name)
        .replace("ELMH01", &format!("SITE{at}"))
        .replace("192.0.2.11", &format!("192.0.2.{}", at + 1));
    let (before, rest) = office.split_once("pressure-sensor ps1 {").unwrap();
    let (_, limit) = rest.split_once("proof           30 psi\n").unwrap();
    let office = format!("{before}pressure-sensor ps1 : field-15 {{\n    at              c101 3.2 km\n{limit}");
    format!("use parts/field\n\n{office}")
}

/// The changes of an office as `deed subject field: before => after`.
fn changes(comparison: &Value, office: &str) -> Vec<String> {
    let offices = comparison["offices"].as_array().unwrap();
    let Some(found) = offices.iter().find(|one| one["office"] == office) else {
        return Vec::new();
    };
    let word = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let told = found["changes"].as_array().unwrap().iter().map(|change| {
        let (what, subject, field) = (&change["what"], &change["subject"], &change["field"]);
        let (before, after) = (&change["before"], &change["after"]);
        let told = format!(
            "{} {} {}: {} => {}",
            word(what),
            word(subject),
            word(field),
            word(before),
            word(after)
        );
        told
    });
    told.collect()
}

fn what(comparison: &Value, office: &str) -> String {
    let offices = comparison["offices"].as_array().unwrap();
    let found = offices.iter().find(|one| one["office"] == office);
    found.map_or_else(
        || "untold".to_owned(),
        |found| found["what"].as_str().unwrap().to_owned(),
    )
}

#[test]
fn nothing_changed_is_said() {
    let repository = Repository::new();
    let output = repository.compare(&["main"]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    assert_eq!(
        out(&output),
        "working tree compared with main\nNothing changed in any of 3 offices.\n"
    );
}

#[test]
fn a_signal_that_moved_to_another_pair_is_told_from_end_to_end() {
    let repository = Repository::new();
    repository.edit("offices/elm.office", "-> c101 pair 37 ", "-> c101 pair 38 ");
    repository.edit(
        "offices/elm.office",
        "spare c101 pair 1 .. 36",
        "spare c101 pair 1 .. 37",
    );
    repository.edit(
        "offices/elm.office",
        "spare c101 pair 38 .. 50",
        "spare c101 pair 39 .. 50",
    );
    repository.commit("another pair");
    let told = repository.json(&["HEAD~1", "HEAD"]);
    assert_eq!(
        changes(&told, "elm"),
        [
            "moved ps1 : c101 pair 37 -> tb pair 3 -> m1 sensor 3 => c101 pair 38 -> tb pair 3 -> m1 sensor 3",
            "added c101 pair 37 :  => ",
            "removed c101 pair 38 :  => ",
        ]
    );
    assert_eq!(
        (&told["summary"]["changed"], &told["summary"]["untouched"]),
        (&1.into(), &2.into())
    );
    assert_eq!(told["offices"][0]["worse"], false);
}

#[test]
fn a_change_of_a_part_is_told_once_with_all_that_it_reaches() {
    let repository = Repository::new();
    repository.edit("parts/field.office", "0 .. 15 psi", "0 .. 3 psi");
    repository.edit("offices/oak.office", ": field-15", "");
    repository.edit(
        "offices/oak.office",
        "at              c101 3.2 km",
        "at c101 3.2 km\nspan 0 .. 15 psi\nstep 0.1 psi\nproof 30 psi\nerror 0.2 psi\n",
    );
    let told = repository.json(&["main"]);
    let part = &told["parts_files"][0]["parts"][0];
    assert_eq!((&part["name"], &part["what"]), (&"field-15".into(), &"changed".into()));
    assert_eq!(
        (&part["fields"][0]["before"], &part["fields"][0]["after"]),
        (&"0 .. 15 psi".into(), &"0 .. 3 psi".into())
    );
    // In oak the sensor was made from it, in the others it is.
    assert_eq!(part["offices"], 3);
    assert_eq!(part["worse"], 2, "{told:#}");
    assert_eq!(
        (what(&told, "elm"), what(&told, "oak")),
        ("touched".to_owned(), "changed".to_owned())
    );
    let text = out(&repository.compare(&["main"]));
    let first: Vec<&str> = text.lines().take(6).collect();
    let headline = first.join("\n");
    assert!(headline.contains("Part `field-15` in parts/field.office changed (span: 0 .. 15 psi, now 0 .. 3 psi): 3 offices have it, 2 got worse."), "{text}");
    assert_eq!(code(&repository.compare(&["main", "--fail-on", "error"])), 1, "{text}");
    assert_eq!(code(&repository.compare(&["main"])), 0);
}

#[test]
fn a_thing_with_another_name_is_no_new_thing() {
    let repository = Repository::new();
    repository.edit("offices/elm.office", "ps1", "ps-101");
    repository.edit("offices/elm.office", "c101", "c201");
    let told = repository.json(&["main"]);
    assert_eq!(
        changes(&told, "elm"),
        [
            "renamed cable : c101 => c201",
            "renamed pressure-sensor : ps1 => ps-101"
        ],
    );
}

#[test]
fn a_renamed_thing_that_also_changed_is_both() {
    let repository = Repository::new();
    repository.edit("offices/elm.office", "ps1", "ps-101");
    repository.edit("offices/elm.office", "low 6.7 psi minor", "low 3.2 psi minor");
    let told = repository.json(&["main"]);
    assert_eq!(
        changes(&told, "elm"),
        [
            "renamed pressure-sensor : ps1 => ps-101",
            "changed ps-101 limit low: 6.7 psi minor deadband 0.3 psi => 3.2 psi minor deadband 0.3 psi",
        ],
    );
    let figure = &told["offices"][0]["figures"][0];
    assert_eq!((&figure["subject"], &figure["unit"]), (&"ps-101".into(), &"psi".into()));
}

#[test]
fn runs_that_lead_elsewhere_have_moved() {
    let repository = Repository::new();
    repository.edit("offices/elm.office", "power pdf fuse 1", "power pdf fuse 2");
    repository.edit("offices/elm.office", "fuse 2 .. 10", "fuse 3 .. 10");
    repository.edit("offices/elm.office", "air mf port 2", "air mf port 3");
    repository.edit("offices/elm.office", "14 awg, 6 m", "12 awg, 6 m");
    repository.edit("offices/elm.office", "c101 3.2 km\n", "c101 3 km\n");
    let told = changes(&repository.json(&["main"]), "elm");
    for expected in [
        "moved ps1 at: c101 3.2 km => c101 3 km",
        "moved air from mf to p1 : mf port 2 -> p1 => mf port 3 -> p1",
        "moved power of m1 : pdf fuse 1 -> m1 => pdf fuse 2 -> m1",
        "changed power pdf fuse 2 -> m1 wire size: 14 awg => 12 awg",
        "removed pdf fuse 2 :  => ",
    ] {
        assert!(
            told.iter().any(|told| told == expected),
            "{expected} is not among {told:#?}"
        );
    }
}

#[test]
fn offices_come_go_and_move() {
    let repository = Repository::new();
    repository.git(&["mv", "offices/elm.office", "offices/elm-hollow.office"]);
    repository.git(&["rm", "--quiet", "offices/fir.office"]);
    repository.write(
        "offices/yew.office",
        "office yew { site \"SITE9\" }\nmonitor m1 { sensors 4 }\nmanifold mf { ports 4, rating 30 }\n",
    );
    let told = repository.json(&["main"]);
    assert_eq!(
        (what(&told, "elm"), what(&told, "fir"), what(&told, "yew")),
        ("moved".to_owned(), "removed".to_owned(), "added".to_owned())
    );
    let summary = &told["summary"];
    assert_eq!(
        (&summary["offices_before"], &summary["offices_after"]),
        (&3.into(), &3.into())
    );
    assert!(summary["new"]["errors"].as_u64().unwrap() >= 1);
    assert_eq!(told["offices"][0]["file_before"], "offices/elm.office");
    let text = out(&repository.compare(&["main", "--all"]));
    assert!(
        text.contains("elm (elm), offices/elm-hollow.office, before offices/elm.office: the same in another file"),
        "{text}"
    );
    // What came says what it holds.
    let text = out(&repository.compare(&["main"]));
    let added = text
        .lines()
        .find(|line| line.trim_start().starts_with("added"))
        .unwrap_or_default();
    assert!(added.contains("yew") && added.contains("1 monitor"), "{text}");
    repository.edit("offices/elm-hollow.office", "310 m", "900 m");
    let told = repository.json(&["main"]);
    assert_eq!(changes(&told, "elm"), ["changed elm elevation: 310 m => 900 m"]);
}

#[test]
fn layout_and_comments_alone_are_said_to_be_that() {
    let repository = Repository::new();
    repository.edit(
        "offices/elm.office",
        "block tb                    { pairs 25 }",
        "block tb { pairs 25 }",
    );
    repository.commit("layout");
    repository.edit("offices/fir.office", "block tb ", "# by the door\nblock tb ");
    repository.commit("comment");
    repository.edit(
        "offices/oak.office",
        "nominal -48 V,          working -43 V .. -54 V,",
        "working -43 V .. -54 V, nominal -48.0 V,",
    );
    repository.commit("order");
    assert_eq!(what(&repository.json(&["HEAD~3", "HEAD~2"]), "elm"), "layout");
    assert_eq!(what(&repository.json(&["HEAD~2", "HEAD~1"]), "fir"), "comments");
    let told = repository.json(&["HEAD~3"]);
    assert_eq!(what(&told, "oak"), "reworded");
    assert_eq!(told["summary"]["same_meaning"], 3);
    let text = out(&repository.compare(&["HEAD~3", "HEAD~2"]));
    assert!(text.contains("Of 3 offices: 1 in layout only; 2 untouched."), "{text}");
}

#[test]
fn a_merge_left_undone_is_a_clear_result() {
    let repository = Repository::new();
    repository.git(&["switch", "--quiet", "--create", "other"]);
    repository.edit("offices/elm.office", "low 6.7 psi", "low 3.3 psi");
    repository.edit("parts/field.office", "0.1 psi", "0.3 psi");
    repository.commit("other");
    repository.git(&["switch", "--quiet", "main"]);
    repository.edit("offices/elm.office", "low 6.7 psi", "low 3.4 psi");
    repository.edit("parts/field.office", "0.1 psi", "0.2 psi");
    repository.commit("main");
    repository.git(&["merge", "--quiet", "other"]);
    let output = repository.compare(&["HEAD"]);
    assert_eq!(code(&output), 2);
    assert!(
        err(&output).contains("offices/elm.office: a merge was left undone in lines"),
        "{}",
        err(&output)
    );
    assert!(
        out(&output).contains("it uses parts/field, and there a merge was left undone"),
        "{}",
        out(&output)
    );
    assert_eq!(repository.json(&["HEAD"])["summary"]["not_compared"], 3);
    // Committed as it is, it is told as well; and so is the commit that mends it.
    repository.commit("undone");
    let output = repository.compare(&["HEAD~1", "HEAD"]);
    assert_eq!(code(&output), 2, "{}", out(&output));
    repository.git(&["checkout", "--quiet", "HEAD~1", "--", "."]);
    let output = repository.compare(&["HEAD"]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    assert!(out(&output).contains("could not be read before"), "{}", out(&output));
}

#[test]
fn bytes_that_are_no_text_are_named() {
    let repository = Repository::new();
    fs::write(
        repository.path().join("offices/elm.office"),
        b"office elm {\n title \"\xe9\" }\n",
    )
    .unwrap();
    let output = repository.compare(&["main"]);
    assert_eq!(code(&output), 2);
    assert!(
        err(&output).contains("offices/elm.office: the byte 0xe9"),
        "{}",
        err(&output)
    );
}

#[test]
fn results_that_stay_are_known_where_their_line_was_edited() {
    let repository = Repository::new();
    repository.edit("offices/elm.office", "low 6.7 psi minor", "low 12 psi minor");
    repository.commit("wrong");
    repository.edit("offices/elm.office", "low 12 psi minor", "low 11.5 psi minor");
    repository.edit(
        "offices/elm.office",
        "title           \"elm\"",
        "title \"Elm\"\n    note \"gone\"",
    );
    let told = repository.json(&["HEAD"]);
    assert_eq!(
        told["summary"]["new"],
        serde_json::json!({ "errors": 0, "warnings": 0, "notes": 0 }),
        "{told:#}"
    );
    assert_eq!(told["summary"]["gone"], 0);
    let told = repository.json(&["HEAD~1", "HEAD"]);
    assert!(told["summary"]["new"]["errors"].as_u64().unwrap() > 0, "{told:#}");
    assert_eq!(told["offices"][0]["worse"], true);
    let back = repository.json(&["HEAD", "HEAD~1"]);
    assert_eq!(
        back["summary"]["gone"],
        told["offices"][0]["results"]["new"].as_array().unwrap().len()
    );
}

#[test]
fn results_across_files_and_settings_are_compared_too() {
    let repository = Repository::new();
    repository.edit("offices/fir.office", "SITE1", "SITE0");
    repository.write("drysheath.toml", "language = 1\n[practice]\ndryer-margin = \"30 %\"\n");
    let told = repository.json(&["main"]);
    assert_eq!(told["across_files"]["new"][0]["rule"], "site-code-twice");
    assert_eq!(
        told["settings"],
        serde_json::json!([
            { "file": "drysheath.toml", "name": "dryer-margin", "before": "25 %", "after": "30 %" }
        ])
    );
}

#[test]
fn folders_are_compared_without_git() {
    let (one, other) = (Repository::new(), Repository::new());
    other.edit("offices/elm.office", "coldest         -25 degC", "coldest -30 degC");
    fs::remove_dir_all(other.path().join(".git")).unwrap();
    let (base, head) = (one.path().to_str().unwrap(), other.path().to_str().unwrap());
    let told = other.json(&[base, head]);
    assert_eq!(changes(&told, "elm"), ["changed elm coldest: -25 degC => -30 degC"]);
    assert_eq!(
        changes(&other.json(&[base]), "elm"),
        ["changed elm coldest: -25 degC => -30 degC"]
    );
    assert_eq!(
        changes(&one.json(&["main", head]), "elm"),
        ["changed elm coldest: -25 degC => -30 degC"]
    );
}

#[test]
fn a_folder_of_the_tree_is_no_state_of_it() {
    let repository = Repository::new();
    let output = repository.compare(&["main", "offices"]);
    assert_eq!(code(&output), 2, "{}", out(&output));
    assert!(
        err(&output).contains("`offices` is a folder within the working tree"),
        "{}",
        err(&output)
    );
    // A branch of the same name can be said in full.
    repository.git(&["branch", "offices"]);
    let output = repository.compare(&["main", "offices"]);
    assert!(err(&output).contains("`refs/heads/offices`"), "{}", err(&output));
    assert_eq!(code(&repository.compare(&["main", "refs/heads/offices"])), 0);
    assert_eq!(code(&repository.compare(&["main", "."])), 0);
}

#[test]
fn nothing_in_no_office_is_a_failure() {
    let repository = Repository::new();
    let other = tempfile::tempdir().unwrap();
    git_command(other.path(), &["init", "--quiet"]).output().unwrap();
    fs::write(other.path().join("notes.txt"), "").unwrap();
    git_command(other.path(), &["add", "--all"]).output().unwrap();
    git_command(other.path(), &["commit", "--quiet", "--message", "notes"])
        .output()
        .unwrap();
    let output = run(other.path(), &["compare", "HEAD"]);
    assert_eq!(code(&output), 2, "{}", out(&output));
    assert!(
        err(&output).contains("neither HEAD nor working tree has an office"),
        "{}",
        err(&output)
    );
    // Beside offices an empty state says that they went.
    let empty = other.path().to_str().unwrap();
    let output = repository.compare(&["main", empty]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    assert!(out(&output).contains("3 removed"), "{}", out(&output));
}

#[test]
fn a_file_has_the_full_list_and_standard_output_the_brief_one() {
    let repository = Repository::new();
    repository.edit("parts/field.office", "0 .. 15 psi", "0 .. 3 psi");
    let outputs = [
        "--output",
        "markdown",
        "--output",
        "markdown=all.md",
        "--output",
        "text=all.txt",
        "--output",
        "json=all.json",
    ];
    let brief = out(&repository.compare(&[&["main"], &outputs[..]].concat()));
    let read = |name: &str| fs::read_to_string(repository.path().join(name)).unwrap();
    let (page, text) = (read("all.md"), read("all.txt"));
    let record: Value = serde_json::from_str(&read("all.json")).unwrap();
    for office in record["offices"].as_array().unwrap() {
        for result in office["results"]["new"].as_array().unwrap() {
            let place = format!("{}:{}", result["file"].as_str().unwrap(), result["line"]);
            assert!(page.contains(&place) && text.contains(&place), "{place}: {page}{text}");
        }
    }
    assert!(
        brief.contains("The full list: `drysheath compare --output markdown=FILE`."),
        "{brief}"
    );
    assert_eq!(
        out(&repository.compare(&["main", "--output", "markdown", "--all"])),
        page
    );
    let unwritten = repository.compare(&["main", "--output", "markdown=no/such/folder.md"]);
    assert_eq!(code(&unwritten), 2, "{}", err(&unwritten));
}

#[test]
fn a_shallow_clone_is_told_how_deep_to_fetch() {
    let repository = Repository::new();
    repository.edit("offices/elm.office", "30 psi", "31 psi");
    repository.commit("second");
    let first = out(&repository.git(&["rev-parse", "HEAD~1"]));
    let clone = tempfile::tempdir().unwrap();
    let source = format!("file://{}", repository.path().display());
    git_command(clone.path(), &["clone", "--quiet", "--depth", "1", &source, "."])
        .output()
        .unwrap();
    for arguments in [&["compare", first.trim()][..], &["lint", "--since", "HEAD~1"]] {
        let output = run(clone.path(), arguments);
        assert_eq!(code(&output), 2, "{arguments:?}");
        assert!(
            err(&output).contains("git fetch --unshallow"),
            "{arguments:?}: {}",
            err(&output)
        );
    }
}

#[test]
fn the_same_bytes_come_out_every_time() {
    let repository = Repository::new();
    repository.edit("parts/field.office", "0 .. 15 psi", "0 .. 4 psi");
    for form in ["text", "markdown", "json"] {
        let first = repository.compare(&["main", "--output", form]);
        assert!(out(&first).contains("field-15"));
        for _ in 0..3 {
            assert_eq!(repository.compare(&["main", "--output", form]).stdout, first.stdout);
        }
    }
    // From another folder of the same tree as well.
    let within = run(
        &repository.path().join("offices"),
        &["compare", "--today", TODAY, "main"],
    );
    assert_eq!(out(&within), out(&repository.compare(&["main"])));
}

#[test]
fn what_git_cannot_tell_is_said_in_words() {
    let repository = Repository::new();
    for arguments in [
        ["compare", "nowhere"],
        ["lint", "--since=nowhere"],
        ["compare", "--output=json"],
    ] {
        let output = repository.run(&arguments);
        assert_eq!(code(&output), 2, "{arguments:?}");
    }
    let unknown = repository.run(&["compare", "nowhere"]);
    assert!(
        err(&unknown).contains("git knows no revision `nowhere`"),
        "{}",
        err(&unknown)
    );
    let option = repository.run(&["lint", "--since=--output=x"]);
    assert!(
        err(&option).contains("git knows no revision `--output=x`"),
        "{}",
        err(&option)
    );
    let without = command(repository.path(), &["compare", "main"])
        .env("PATH", "")
        .output()
        .unwrap();
    assert_eq!(code(&without), 2);
    assert!(err(&without).contains("install git"), "{}", err(&without));
    fs::remove_dir_all(repository.path().join(".git")).unwrap();
    for arguments in [["compare", "main"], ["lint", "--since=main"]] {
        let output = repository.run(&arguments);
        assert_eq!(code(&output), 2);
        assert!(err(&output).contains("is not in a git repository"), "{}", err(&output));
    }
}

#[test]
fn lint_since_looks_at_what_the_changes_can_affect() {
    let repository = Repository::new();
    repository.write(
        "offices/yew.office",
        &office("yew", 7)
            .replace("use parts/field\n", "")
            .replace(": field-15", ""),
    );
    repository.commit("one that uses no parts");
    let looked_at = |expected: &str| {
        let output = repository.run(&["lint", "--since", "HEAD", "--today", TODAY]);
        let told = out(&output);
        assert!(told.contains(expected), "{told}{}", err(&output));
    };
    looked_at("in 0 files\n5 files were not checked: nothing that affects them has changed since HEAD.");
    repository.edit("offices/elm.office", "30 psi", "30");
    looked_at("in 1 file\n4 files were not checked");
    assert_eq!(code(&repository.run(&["lint", "--since", "HEAD", "--today", TODAY])), 1);
    repository.edit("parts/field.office", "30 psi", "31 psi");
    looked_at("in 4 files\n1 file was not checked");
    fs::remove_file(repository.path().join("parts/field.office")).unwrap();
    looked_at("in 3 files\n1 file was not checked");
    repository.git(&["checkout", "--quiet", "--", "."]);
    looked_at("in 0 files");
    repository.write("offices/new.office", &office("new", 8));
    looked_at("in 1 file\n");
    repository.write("drysheath.toml", "language = 1\n[levels]\n");
    looked_at("in 6 files\n");
    // From within a folder the paths are shown as ever, and what is left out counts there.
    let within = run(
        &repository.path().join("parts"),
        &["lint", "--since", "HEAD", "--today", TODAY, "--output", "json"],
    );
    let told: Value = serde_json::from_str(&out(&within)).unwrap();
    assert_eq!(told["files"], 1, "{told:#}");
}
