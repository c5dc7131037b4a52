//! The way from the first language to the one of today, on a copy of the county as it was written then.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::common::{CLEAN, code, contents, copy, err, out, run};

/// The county as it was written in language 0.
fn first_county() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    copy(
        &Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/languages/0"),
        folder.path(),
    );
    folder
}

/// Every comment of every file, in order.
fn comments(folder: &Path) -> Vec<String> {
    let files = contents(folder);
    let lines = files.values().flat_map(|bytes| {
        String::from_utf8_lossy(bytes)
            .lines()
            .map(str::to_owned)
            .collect::<Vec<_>>()
    });
    lines
        .filter_map(|line| Some(line.split_once('#')?.1.to_owned()))
        .collect()
}

#[test]
fn the_first_county_becomes_one_of_today() {
    let folder = first_county();
    let path = folder.path();
    let (before, comments_before) = (contents(path), comments(path));
    let asks = run(path, &["lint", "--fail-on", "note"]);
    assert_eq!(code(&asks), 1);
    assert!(
        out(&asks).contains("[language-missing]") && out(&asks).contains("drysheath migrate"),
        "{}",
        out(&asks)
    );
    assert!(
        !out(&asks).contains("[word-outdated]"),
        "one result stands for all: {}",
        out(&asks)
    );
    assert!(out(&asks).contains("1 error, 0 warnings"), "{}", out(&asks));
    let predicted = out(&run(path, &["predict", "offices", "--output", "json"]));

    let check = run(path, &["migrate", "--check"]);
    assert_eq!(code(&check), 1, "{}", err(&check));
    for file in ["drysheath.toml", "offices/pipers-reach.office", "parts/bays.office"] {
        assert!(out(&check).lines().any(|line| line == file), "{}", out(&check));
    }
    let diff = run(path, &["migrate", "--diff"]);
    assert_eq!(code(&diff), 1);
    assert!(
        out(&diff).contains("+language = 1") && out(&diff).contains("+spare r1 outlet 2 .. 3"),
        "{}",
        out(&diff)
    );
    assert_eq!(contents(path), before, "nothing is written");

    let migrated = run(&path.join("offices"), &["migrate"]);
    assert_eq!((code(&migrated), err(&migrated)), (0, String::new()));
    let settings = fs::read_to_string(path.join("drysheath.toml")).unwrap();
    assert!(settings.starts_with("language = 1\n\n#"), "{settings}");
    assert_eq!(comments(path), comments_before);
    // Of its threads nobody said the standard, which is a note in any language.
    let lint = run(path, &["lint", "--fail-on", "warning"]);
    assert_eq!(code(&lint), 0, "{}", out(&lint));
    assert_eq!(out(&run(path, &["predict", "offices", "--output", "json"])), predicted);
    assert_eq!(code(&run(path, &["format", "--check"])), 0);
    for old in [" plugged ", "psi in ", " current ", "{ limit 15 A"] {
        let text = |bytes: &Vec<u8>| String::from_utf8_lossy(bytes).into_owned();
        assert!(!contents(path).values().any(|bytes| text(bytes).contains(old)), "{old}");
    }

    let after = contents(path);
    for arguments in [&["migrate"][..], &["migrate", "--check"], &["migrate", "--diff"]] {
        let again = run(path, arguments);
        assert_eq!((code(&again), out(&again)), (0, String::new()), "{arguments:?}");
    }
    assert_eq!(contents(path), after);
}

fn repository(settings: &str, office: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("drysheath.toml"), settings).unwrap();
    fs::write(folder.path().join("elm.office"), office).unwrap();
    folder
}

#[test]
fn runs_against_their_arrow_are_turned() {
    let backwards = CLEAN.replace("power main                  -> pdf ", "power pdf -> main ");
    assert_ne!(backwards, CLEAN);
    let folder = repository("", &backwards);
    let migrated = run(folder.path(), &["migrate"]);
    assert_eq!((code(&migrated), err(&migrated)), (0, String::new()));
    let lint = run(folder.path(), &["lint", "--fail-on", "note"]);
    assert_eq!(code(&lint), 0, "{}", out(&lint));
}

#[test]
fn a_part_in_the_same_file_gives_its_outlets_to_its_places() {
    let part =
        "part regulator two-ways { set 8 psi, differential 5 psi, outlets 2, plugged 2 }\nregulator r9 : two-ways\n";
    let folder = repository("", &format!("{CLEAN}{part}"));
    let migrated = run(folder.path(), &["migrate"]);
    assert_eq!((code(&migrated), err(&migrated)), (0, String::new()));
    let text = fs::read_to_string(folder.path().join("elm.office")).unwrap();
    assert!(
        text.contains("spare r9 outlet 2\n") && !text.contains("plugged"),
        "{text}"
    );
}

#[test]
fn what_is_not_proved_is_not_written() {
    let unchanged = |folder: &TempDir, why: &str| {
        let before: BTreeMap<String, Vec<u8>> = contents(folder.path());
        let migrated = run(folder.path(), &["migrate"]);
        assert_eq!(code(&migrated), 2, "{migrated:?}");
        assert!(
            err(&migrated).contains(why) && err(&migrated).contains("nothing was changed"),
            "{}",
            err(&migrated)
        );
        assert_eq!(contents(folder.path()), before);
    };
    let old = CLEAN.replace("current-max 30 A", "limit 30 A");
    assert_ne!(old, CLEAN);
    // No bytes of the language.
    let broken = repository("", &old);
    fs::write(broken.path().join("other.office"), [0xe9]).unwrap();
    unchanged(&broken, "other.office");
    // Half of a merge.
    let merge = repository("", &old);
    fs::write(
        merge.path().join("other.office"),
        "<<<<<<< ours\n=======\n>>>>>>> theirs\n",
    )
    .unwrap();
    unchanged(&merge, "merge");
    unchanged(&repository("[levels\n", &old), "drysheath.toml: no language number");
    unchanged(
        &repository("language = \"1\"\n", &old),
        "drysheath.toml: no language number",
    );
    // A block that nobody closed.
    let half = format!("{old}regulator r9 {{\n    set 8 psi\n    plugged 2\n");
    unchanged(&repository("", &half), "correct this first");
    // What a part says of its places would be lost where no place is known.
    let part = "part regulator two-ways { set 8 psi, differential 5 psi, outlets 2, plugged 2 }\n";
    let misspelt = repository("", &format!("{old}{part}regulator r9 : two-way\n"));
    unchanged(&misspelt, "correct this first");
    unchanged(&repository("", &format!("{old}{part}")), "nothing can take its place");
    unchanged(&repository("language = 9\n", &old), "0.9.0");
    // A slip in the folder's name must not change the repository around it.
    let around = repository("", &old);
    let before = contents(around.path());
    let misspelt = run(around.path(), &["migrate", "ofices"]);
    assert_eq!(code(&misspelt), 2, "{misspelt:?}");
    assert!(
        err(&misspelt).contains("ofices: there is no such folder"),
        "{}",
        err(&misspelt)
    );
    assert_eq!(contents(around.path()), before);
}

#[test]
fn a_folder_without_settings_has_no_number() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("elm.office"), CLEAN).unwrap();
    let migrated = run(folder.path(), &["migrate"]);
    assert_eq!(code(&migrated), 2);
    assert!(err(&migrated).contains("drysheath.toml"), "{}", err(&migrated));
    // And needs none.
    assert_eq!(code(&run(folder.path(), &["lint", "--fail-on", "note"])), 0);
}

#[test]
fn a_newer_language_is_one_error_with_the_program_to_get() {
    let folder = repository("language = 3\nlevls = 1\n", "quantum q1 { entangled yes }\n");
    let before = contents(folder.path());
    fs::create_dir(folder.path().join("base")).unwrap();
    for arguments in [
        &["lint"][..],
        &["lint", "elm.office"],
        &["predict", "elm.office"],
        &["records", "."],
        &["format"],
        &["format", "--check"],
        &["compare", "base"],
    ] {
        let output = run(folder.path(), arguments);
        let told = err(&output);
        assert_eq!(code(&output), 2, "{arguments:?}: {output:?}");
        assert_eq!(told.lines().count(), 1, "{arguments:?}: {told}");
        assert!(
            told.contains("language 3") && told.contains("drysheath 0.3.0"),
            "{arguments:?}: {told}"
        );
        assert!(!out(&output).contains("error["), "{arguments:?}: {}", out(&output));
    }
    fs::remove_dir(folder.path().join("base")).unwrap();
    assert_eq!(contents(folder.path()), before);
}

#[cfg(unix)]
#[test]
fn a_file_of_another_ending_is_migrated_through_its_link() {
    let folder = repository("", "");
    let path = folder.path();
    fs::write(path.join("elm.txt"), CLEAN.replace("current-max", "limit")).unwrap();
    fs::remove_file(path.join("elm.office")).unwrap();
    std::os::unix::fs::symlink("elm.txt", path.join("elm.office")).unwrap();
    let migrated = run(path, &["migrate"]);
    assert_eq!((code(&migrated), err(&migrated)), (0, String::new()));
    assert!(path.join("elm.office").is_symlink());
    assert_eq!(fs::read_to_string(path.join("elm.txt")).unwrap(), CLEAN);
}

#[test]
fn a_special_blank_beside_a_word_that_has_gone_is_no_obstacle() {
    let text = CLEAN.replace("current-max ", "limit\u{a0}");
    let part = "part regulator two-ways { set 8 psi, differential 5 psi, outlets 2, plugged\u{a0}2 }\nregulator r9 : two-ways\n";
    let folder = repository("", &format!("{text}{part}"));
    let migrated = run(folder.path(), &["migrate"]);
    assert_eq!((code(&migrated), err(&migrated)), (0, String::new()));
    let text = fs::read_to_string(folder.path().join("elm.office")).unwrap();
    assert!(text.contains("current-max") && !text.contains("plugged"), "{text}");
}

#[test]
fn the_number_that_a_folder_repeats_is_written_with_that_of_the_root() {
    let folder = repository("language = 0\n", &CLEAN.replace("current-max", "limit"));
    let path = folder.path();
    for (county, text) in [
        ("north", "language = 0\n"),
        ("south", "[practice]\ndryer-margin = \"20 %\"\n"),
    ] {
        fs::create_dir(path.join(county)).unwrap();
        fs::write(path.join(county).join("drysheath.toml"), text).unwrap();
        let office = CLEAN
            .replace("ELMH01", county)
            .replace("office elm-hollow", &format!("office {county}"));
        fs::write(path.join(county).join("a.office"), office).unwrap();
    }
    let migrated = run(path, &["migrate"]);
    assert_eq!((code(&migrated), err(&migrated)), (0, String::new()));
    let said = |file: &str| fs::read_to_string(path.join(file)).unwrap();
    assert_eq!(said("drysheath.toml"), "language = 1\n");
    assert_eq!(said("north/drysheath.toml"), "language = 1\n");
    assert_eq!(said("south/drysheath.toml"), "[practice]\ndryer-margin = \"20 %\"\n");
}

#[test]
fn an_acceptance_follows_its_rule_and_columns_stay() {
    let accepted = "accept plugged-outlet-used on r1 because \"found so; order W-7\" until 2027-12-31\n";
    // Aligned by hand, and not as the formatter would.
    let text = CLEAN.replace(
        "positions 1 .. 10,      current-max 30 A }",
        "positions 1 .. 10, limit 30 A,         title \"P\" }",
    );
    let text = text.replace(
        "    relief          15 psi\n}",
        "    relief          15 psi\n    outlets 2\n    plugged 1\n}",
    );
    let folder = repository("", &format!("{text}{accepted}"));
    let migrated = run(folder.path(), &["migrate"]);
    assert_eq!((code(&migrated), err(&migrated)), (0, String::new()));
    let text = fs::read_to_string(folder.path().join("elm.office")).unwrap();
    assert!(text.contains("accept spare-in-use on r1 because"), "{text}");
    assert!(text.contains("positions 1 .. 10, current-max 30 A,   title"), "{text}");
}
