//! Nothing outside of a repository is read or written through a link, and a file is one file however it is reached.

use std::fs;
use std::os::unix::fs::symlink;
use std::path::Path;

use tempfile::TempDir;

use crate::common::{CLEAN, SECRET, code, commit, err, office, out, repository, run};

/// Every command that reads or writes offices, once for a folder and once for HEAD.
const COMMANDS: [&[&str]; 11] = [
    &["lint", "."],
    &["lint", ".", "--output", "json"],
    &["lint", ".", "--since", "HEAD"],
    &["predict", "."],
    &["records", "."],
    &["records", ".", "--since", "HEAD"],
    &["format", "--check"],
    &["format"],
    &["compare", "HEAD"],
    &["sheets", ".", "--to", "printed"],
    &["sheets", ".", "--to", "printed", "--since", "HEAD"],
];

/// A folder outside, with a file whose text is not to be seen and whose layout is wrong.
fn outside() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("private.office"), private()).unwrap();
    fs::write(folder.path().join("drysheath.toml"), format!("[{SECRET}]\n")).unwrap();
    folder
}

fn private() -> String {
    format!("office   {SECRET} {{\n  titel \"{SECRET}\"\n}}\n")
}

#[track_caller]
fn nothing_gets_out(inside: &Path, outside: &Path, arguments: &[&str], named: &str) {
    let output = run(inside, arguments);
    let told = out(&output) + &err(&output);
    assert!(!told.contains(SECRET), "{arguments:?}: {told}");
    assert!(told.contains(named), "{arguments:?}: {told}");
    assert_eq!(code(&output), 2, "{arguments:?}: {told}");
    let after = fs::read_to_string(outside.join("private.office")).unwrap();
    assert_eq!(after, private(), "{arguments:?}");
}

#[test]
fn links_that_lead_out_are_named_and_not_followed() {
    let outside = outside();
    for (link, target) in [
        ("offices/link.office", "private.office"),
        ("offices/folder", ""),
        ("drysheath.toml", "drysheath.toml"),
    ] {
        let folder = repository();
        fs::remove_file(folder.path().join(link)).ok();
        symlink(outside.path().join(target), folder.path().join(link)).unwrap();
        // The layout depends on no settings.
        let reads = |arguments: &&&[&str]| link != "drysheath.toml" || arguments[0] != "format";
        for arguments in COMMANDS.iter().filter(reads) {
            nothing_gets_out(folder.path(), outside.path(), arguments, link);
        }
        // The same without settings: then the folder that was named is the boundary.
        if link != "drysheath.toml" {
            fs::remove_file(folder.path().join("drysheath.toml")).unwrap();
            for arguments in COMMANDS {
                nothing_gets_out(folder.path(), outside.path(), arguments, link);
            }
        }
    }
}

#[test]
fn a_link_that_leads_out_is_refused_where_it_is_named() {
    let (folder, outside) = (repository(), outside());
    symlink(outside.path().join("private.office"), folder.path().join("link.office")).unwrap();
    symlink(outside.path(), folder.path().join("folder")).unwrap();
    for path in ["link.office", "folder", "folder/private.office", "./offices/../folder"] {
        for command in ["lint", "predict", "records", "format"] {
            nothing_gets_out(folder.path(), outside.path(), &[command, path], "link");
        }
    }
    let compared = run(folder.path(), &["compare", "HEAD", "folder"]);
    assert!(!(out(&compared) + &err(&compared)).contains(SECRET), "{compared:?}");
}

#[test]
fn parts_are_not_read_through_a_link_that_leads_out() {
    let (folder, outside) = (repository(), outside());
    symlink(outside.path(), folder.path().join("parts")).unwrap();
    fs::write(folder.path().join(".gitignore"), "/parts\n").unwrap();
    let uses = |name: &str| {
        fs::write(
            folder.path().join("offices/elm.office"),
            format!("use parts/{name}\n{CLEAN}"),
        )
        .unwrap();
        let output = run(folder.path(), &["lint"]);
        out(&output) + &err(&output)
    };
    let told = uses("private");
    assert!(
        told.contains("[use-outside-repository]") && !told.contains(SECRET),
        "{told}"
    );
    // The names of files out there are not suggested either.
    let told = uses("privat");
    assert!(!told.contains("parts/private"), "{told}");
}

#[test]
fn a_link_inside_is_the_file_that_it_leads_to() {
    let folder = repository();
    let path = folder.path();
    symlink("elm.office", path.join("offices/also.office")).unwrap();
    fs::create_dir(path.join("north")).unwrap();
    fs::write(path.join("north/fir.office"), office("fir-hollow", 1)).unwrap();
    symlink("../north", path.join("offices/north")).unwrap();
    for arguments in [&["lint"][..], &["lint", "offices"], &["lint", "north", "offices"]] {
        let output = run(path, arguments);
        assert!(
            out(&output).ends_with("0 errors, 0 warnings, 0 notes in 2 files\n"),
            "{arguments:?}: {output:?}"
        );
        assert_eq!(code(&output), 0, "{arguments:?}: {}", err(&output));
    }
    let output = run(path, &["lint", "offices/also.office"]);
    assert!(out(&output).ends_with("in 1 file\n"), "{output:?}");
    let predicted = out(&run(path, &["predict", ".", "--output", "json"]));
    assert_eq!(
        predicted.matches("\"office\": \"elm-hollow\"").count(),
        1,
        "{predicted}"
    );
    fs::write(path.join("offices/elm.office"), CLEAN.replace("title ", "title     ")).unwrap();
    assert_eq!(code(&run(path, &["format", "offices/also.office"])), 0);
    assert!(path.join("offices/also.office").is_symlink() && path.join("offices/north").is_symlink());
    assert_eq!(fs::read_to_string(path.join("offices/elm.office")).unwrap(), CLEAN);
}

#[test]
fn a_part_used_through_a_link_is_used() {
    let folder = repository();
    let path = folder.path();
    fs::create_dir(path.join("parts")).unwrap();
    fs::write(path.join("parts/real.office"), "part manifold four { ports 4 }\n").unwrap();
    symlink("real.office", path.join("parts/link.office")).unwrap();
    fs::write(path.join("offices/elm.office"), format!("use parts/real\n{CLEAN}")).unwrap();
    let by_name = out(&run(path, &["lint"]));
    fs::write(path.join("offices/elm.office"), format!("use parts/link\n{CLEAN}")).unwrap();
    let by_link = out(&run(path, &["lint"]));
    assert_eq!(by_link, by_name.replace("parts/real\n", "parts/link\n"));
}

#[test]
fn a_file_that_is_reached_twice_is_one_file() {
    let folder = repository();
    let path = folder.path();
    for paths in [
        &["offices/elm.office", "offices/elm.office"][..],
        &["offices/elm.office", "./offices/elm.office"],
        &[".", "offices"],
        &["offices", "offices/../offices", "."],
        &["offices", path.to_str().unwrap()],
    ] {
        let output = run(path, &[&["lint"], paths].concat());
        let told = "\n0 errors, 0 warnings, 0 notes in 1 file\n";
        assert!(out(&output).ends_with(told), "{paths:?}: {output:?}");
        assert_eq!(code(&output), 0, "{paths:?}: {}", err(&output));
        let records = run(path, &[&["records", "--output", "csv"], paths].concat());
        assert_eq!(
            out(&records),
            out(&run(path, &["records", "--output", "csv", "."])),
            "{paths:?}"
        );
    }
}

#[test]
fn a_repository_may_be_reached_through_a_link() {
    let folder = repository();
    let links = tempfile::tempdir().unwrap();
    let link = links.path().join("current");
    symlink(folder.path(), &link).unwrap();
    symlink("elm.office", folder.path().join("offices/also.office")).unwrap();
    let whole = link.to_str().unwrap();
    let one = format!("{whole}/offices/also.office");
    for (stand, paths) in [
        (links.path(), vec![whole]),
        (links.path(), vec!["current"]),
        (links.path(), vec!["current/offices"]),
        (links.path(), vec![one.as_str()]),
        (link.as_path(), vec!["."]),
        (link.as_path(), vec!["offices/also.office"]),
    ] {
        let output = run(stand, &[&["lint"], paths.as_slice()].concat());
        assert!(out(&output).ends_with("in 1 file\n"), "{paths:?}: {output:?}");
        assert_eq!(code(&output), 0, "{paths:?}: {output:?}");
    }
    let compared = run(&link, &["compare", "HEAD"]);
    assert_eq!(code(&compared), 0, "{compared:?}");
}

#[test]
fn links_that_lead_nowhere_or_round_are_named() {
    let folder = repository();
    let path = folder.path();
    symlink("two.office", path.join("one.office")).unwrap();
    symlink("one.office", path.join("two.office")).unwrap();
    symlink("gone.office", path.join("three.office")).unwrap();
    symlink("..", path.join("offices/four")).unwrap();
    let output = run(path, &["lint"]);
    assert_eq!(code(&output), 2);
    for name in ["one.office", "two.office", "three.office", "offices/four"] {
        assert!(err(&output).contains(name), "{name}: {}", err(&output));
    }
    assert!(out(&output).ends_with("in 1 file\n"), "{}", out(&output));
}

#[test]
fn settings_that_are_a_link_to_nothing_are_named_once() {
    let folder = repository();
    let path = folder.path();
    fs::remove_file(path.join("drysheath.toml")).unwrap();
    symlink("gone.toml", path.join("drysheath.toml")).unwrap();
    for command in ["lint", "predict", "records"] {
        let output = run(path, &[command, "."]);
        assert_eq!(code(&output), 2, "{command}: {output:?}");
        assert_eq!(
            err(&output).matches("a link to gone.toml").count(),
            1,
            "{command}: {output:?}"
        );
    }
}

#[test]
fn settings_inside_may_be_a_link() {
    let folder = repository();
    let path = folder.path();
    let open = CLEAN.replace("healthy closed", "healthy open");
    fs::write(path.join("offices/elm.office"), open).unwrap();
    let told = || out(&run(path, &["lint"])).contains("[contact-cannot-report-cut-pair]");
    assert!(told());
    fs::write(
        path.join("common.toml"),
        "language = 1\n[levels]\ncontact-cannot-report-cut-pair = \"off\"\n",
    )
    .unwrap();
    fs::remove_file(path.join("drysheath.toml")).unwrap();
    symlink("common.toml", path.join("drysheath.toml")).unwrap();
    assert!(!told());
}

#[test]
fn outputs_are_not_written_through_a_link_that_leads_out() {
    let folder = repository();
    let path = folder.path();
    let outside = tempfile::tempdir().unwrap();
    fs::write(outside.path().join("mine"), "mine\n").unwrap();
    symlink(outside.path().join("mine"), path.join("out.sarif")).unwrap();
    symlink(outside.path(), path.join("results")).unwrap();
    for arguments in [
        &["lint", "--output", "sarif=out.sarif"][..],
        &["lint", "--output", "sarif=results/out.sarif"],
        &["records", ".", "--output", "csv=out.sarif"],
        &["records", ".", "--output", "csv=results/out.csv"],
        &["predict", ".", "--pictures", "results"],
        &["predict", ".", "--pictures", "results/deep"],
        &["lint", "--baseline", "out.sarif"],
        &["start", "results/new"],
        &["start", "results"],
    ] {
        let output = run(path, arguments);
        assert_eq!(code(&output), 2, "{arguments:?}: {output:?}");
        assert!(err(&output).contains("link"), "{arguments:?}: {}", err(&output));
    }
    assert_eq!(fs::read_dir(outside.path()).unwrap().count(), 1);
    assert_eq!(fs::read_to_string(outside.path().join("mine")).unwrap(), "mine\n");
    // A link inside stays, and its file is written.
    fs::remove_file(path.join("out.sarif")).unwrap();
    fs::remove_file(path.join("results")).unwrap();
    fs::create_dir(path.join("kept")).unwrap();
    symlink("kept/log.sarif", path.join("log.sarif")).unwrap();
    fs::write(path.join("kept/log.sarif"), "old").unwrap();
    assert_eq!(code(&run(path, &["lint", "--output", "sarif=log.sarif"])), 0);
    assert!(path.join("log.sarif").is_symlink());
    assert!(
        fs::read_to_string(path.join("kept/log.sarif"))
            .unwrap()
            .contains("2.1.0")
    );
}

#[test]
fn outputs_stay_in_the_tree_of_git_where_the_settings_are_further_in() {
    let folder = repository();
    let path = folder.path();
    let outside = tempfile::tempdir().unwrap();
    fs::rename(path.join("drysheath.toml"), path.join("offices/drysheath.toml")).unwrap();
    symlink(outside.path(), path.join("results")).unwrap();
    for arguments in [
        &["lint", "offices", "--output", "sarif=results/out.sarif"][..],
        &["records", "offices", "--output", "csv=results/out.csv"],
        &["predict", "offices", "--pictures", "results"],
        &["start", "results/new"],
    ] {
        let output = run(path, arguments);
        assert_eq!(code(&output), 2, "{arguments:?}: {output:?}");
    }
    assert_eq!(fs::read_dir(outside.path()).unwrap().count(), 0);
}

#[test]
fn links_in_a_commit_that_lead_out_are_named() {
    let folder = repository();
    let path = folder.path();
    symlink("/etc/hostname", path.join("offices/link.office")).unwrap();
    commit(path, "a link");
    let output = run(path, &["compare", "HEAD", "HEAD~1"]);
    assert_eq!(code(&output), 0, "{output:?}");
    assert!(
        out(&output).contains("Left out: offices/link.office"),
        "{}",
        out(&output)
    );
}
