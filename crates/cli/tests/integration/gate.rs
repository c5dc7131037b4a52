//! The exit code is what was found: no missing folder, closed pipe or full stream makes it green.

use std::fs;
use std::fs::OpenOptions;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

use crate::common::{CLEAN, code, command, commit, ended, err, git, office, out, repository, run};

const CHECKS: [&[&str]; 5] = [
    &["lint"],
    &["predict"],
    &["records"],
    &["format", "--check"],
    &["format"],
];

#[test]
fn a_folder_without_offices_fails_unless_that_is_allowed() {
    let folder = repository();
    fs::create_dir(folder.path().join("south")).unwrap();
    fs::write(folder.path().join("south/notes.txt"), "").unwrap();
    for check in CHECKS {
        let output = run(folder.path(), &[check, &["south"]].concat());
        assert_eq!(code(&output), 2, "{check:?}: {output:?}");
        assert!(
            err(&output).contains("south") && err(&output).contains("--allow-empty"),
            "{}",
            err(&output)
        );
        // One folder with offices does not stand in for another.
        let output = run(folder.path(), &[check, &["offices", "south"]].concat());
        assert_eq!(code(&output), 2, "{check:?}: {output:?}");
        let output = run(folder.path(), &[check, &["south", "--allow-empty"]].concat());
        assert_eq!(code(&output), 0, "{check:?}: {output:?}");
        let misspelt = run(folder.path(), &[check, &["ofices", "--allow-empty"]].concat());
        assert_eq!(code(&misspelt), 2, "{check:?}: {misspelt:?}");
    }
    // A folder whose offices another argument reaches too is not empty.
    for paths in [[".", "offices"], ["offices", "."]] {
        assert_eq!(code(&run(folder.path(), &[&["lint"][..], &paths].concat())), 0);
    }
    // Parts alone are no office, though there is something to check in them.
    fs::create_dir(folder.path().join("parts")).unwrap();
    fs::write(
        folder.path().join("parts/four.office"),
        "part manifold four { ports 4 }\n",
    )
    .unwrap();
    assert_eq!(code(&run(folder.path(), &["predict", "parts"])), 2);
    assert_eq!(code(&run(folder.path(), &["records", "parts"])), 2);
}

#[test]
fn an_option_without_effect_is_an_error() {
    let folder = repository();
    for arguments in [
        &["lint", "--as", "offices/elm.office"][..],
        &["lint", "offices", "--as", "offices/elm.office"],
        &["lint", "-", "--since", "HEAD"],
    ] {
        let output = run(folder.path(), arguments);
        assert_eq!(code(&output), 2, "{arguments:?}: {output:?}");
    }
}

#[test]
fn standard_input_and_its_file_are_one_file() {
    let folder = repository();
    let office = fs::File::open(folder.path().join("offices/elm.office")).unwrap();
    let arguments = ["lint", "-", ".", "--as", "./offices/elm.office"];
    let output = command(folder.path(), &arguments).stdin(office).output().unwrap();
    assert!(
        out(&output).ends_with("\n0 errors, 0 warnings, 0 notes in 1 file\n"),
        "{output:?}"
    );
    assert_eq!(code(&output), 0);
}

/// A repository with results, a file whose layout is wrong, and a change since HEAD.
fn wrong() -> tempfile::TempDir {
    let folder = repository();
    let text = CLEAN.replace("30 psi", "30").replace("title ", "title      ");
    fs::write(folder.path().join("offices/elm.office"), text).unwrap();
    folder
}

const RED: [(&[&str], i32); 5] = [
    (&["lint"], 1),
    (&["lint", "--output", "json", "--output", "sarif=log.sarif"], 1),
    (&["format", "--check"], 1),
    (&["format", "--diff"], 1),
    (&["compare", "HEAD", "--fail-on", "error"], 1),
];

#[test]
fn a_reader_that_leaves_changes_no_exit_code() {
    for (arguments, expected) in RED {
        let folder = wrong();
        let mut child = command(folder.path(), arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let output = ended(child, arguments);
        assert_eq!(code(&output), expected, "{arguments:?}: {output:?}");
        assert_eq!(err(&output), "", "{arguments:?}");
        if arguments.contains(&"sarif=log.sarif") {
            let log = fs::read_to_string(folder.path().join("log.sarif")).unwrap();
            assert!(log.contains("unit-missing"), "{log}");
        }
    }
    let folder = wrong();
    for arguments in [&["predict", "nowhere"][..], &["records", "nowhere"]] {
        let mut child = command(folder.path(), arguments)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        assert_eq!(child.wait().unwrap().code(), Some(2), "{arguments:?}");
    }
}

fn onto(stream: &str, folder: &Path, arguments: &[&str]) -> Output {
    let full = || OpenOptions::new().write(true).open("/dev/full").unwrap();
    let mut command = command(folder, arguments);
    match stream {
        "stdout" => command.stdout(full()).stderr(Stdio::piped()),
        _ => command.stdout(Stdio::piped()).stderr(full()),
    };
    ended(command.spawn().unwrap(), arguments)
}

#[test]
fn a_full_stream_is_no_success_and_no_panic() {
    if !Path::new("/dev/full").exists() {
        assert!(std::env::var_os("CI").is_none(), "there is no /dev/full to test with");
        eprintln!("skipped: there is no /dev/full");
        return;
    }
    let everything = RED.iter().map(|(arguments, _)| *arguments);
    let others: [&[&str]; 6] = [
        &["rules"],
        &["man-page"],
        &["shell-completion", "bash"],
        &["predict", "."],
        &["records", "."],
        &["start", "new"],
    ];
    for arguments in everything.chain(others) {
        // A repository is started where there is none.
        let folder = if arguments[0] == "start" {
            tempfile::tempdir().unwrap()
        } else {
            wrong()
        };
        let output = onto("stdout", folder.path(), arguments);
        assert_eq!(code(&output), 2, "{arguments:?}: {output:?}");
        assert!(
            err(&output).contains("standard output"),
            "{arguments:?}: {}",
            err(&output)
        );
    }
    for (arguments, expected) in RED.into_iter().chain([
        (&["lint", "nowhere.office"][..], 2),
        (&["rules", "pair-asigned-twice"], 2),
        (&["compare", "nothing"], 2),
        (&["start", "offices/elm.office"], 2),
        (&["--nonsense"], 2),
    ]) {
        let folder = wrong();
        let output = onto("stderr", folder.path(), arguments);
        assert_eq!(code(&output), expected, "{arguments:?}: {output:?}");
    }
    let closed = Command::new("sh")
        .args([
            "-c",
            "exec \"$0\" lint nowhere.office 2>&- >&-",
            env!("CARGO_BIN_EXE_drysheath"),
        ])
        .status()
        .unwrap();
    assert_eq!(closed.code(), Some(2));
}

fn prints(log: &str) -> Vec<String> {
    let log: Value = serde_json::from_str(log).unwrap();
    let results = log["runs"][0]["results"].as_array().unwrap();
    results
        .iter()
        .map(|result| result["partialFingerprints"].to_string())
        .collect()
}

#[test]
fn fingerprints_do_not_depend_on_how_a_path_was_written() {
    let folder = wrong();
    let path = folder.path();
    let whole = path.to_str().unwrap();
    let log = out(&run(path, &["lint", "--output", "sarif"]));
    let expected = prints(&log);
    assert!(!expected.is_empty());
    for (stand, paths) in [
        (path.to_owned(), vec!["./offices"]),
        (path.to_owned(), vec![whole]),
        (path.join("offices"), vec!["elm.office"]),
        (path.join("offices"), vec![".."]),
        (std::env::temp_dir(), vec![whole]),
    ] {
        let output = run(&stand, &[&["lint", "--output", "sarif"], paths.as_slice()].concat());
        assert_eq!(prints(&out(&output)), expected, "{stand:?} {paths:?}");
    }
    // So a baseline that was made in another folder knows what there is.
    fs::write(path.join("known.sarif"), log).unwrap();
    let output = run(
        &path.join("offices"),
        &["lint", "elm.office", "--baseline", "../known.sarif"],
    );
    assert_eq!(code(&output), 0, "{}", out(&output));
}

#[test]
fn an_acceptance_ends_with_the_users_day() {
    // 25 hours lie between these two places, so that it is always a later day in the first.
    let (ahead, behind) = ("Pacific/Kiritimati", "Pacific/Niue");
    let day = Command::new("date").arg("+%F").env("TZ", "NUT+11").output().unwrap();
    let day = out(&day).trim().to_owned();
    let folder = repository();
    let text = CLEAN.replace("healthy closed", "healthy open");
    let accepted = format!("accept contact-cannot-report-cut-pair on d1 because \"a test\" until {day}\n");
    fs::write(folder.path().join("offices/elm.office"), text + &accepted).unwrap();
    let lint = |zone: &str| out(&command(folder.path(), &["lint"]).env("TZ", zone).output().unwrap());
    assert!(lint(ahead).contains("[acceptance-expired]"), "{}", lint(ahead));
    assert!(!lint(behind).contains("[acceptance-expired]"), "{}", lint(behind));
}

#[test]
fn a_byte_order_mark_in_a_word_and_a_lone_carriage_return_are_errors() {
    let folder = repository();
    let office = folder.path().join("offices/elm.office");
    for text in [
        CLEAN.replacen("title", "ti\u{feff}tle", 1),
        CLEAN.replacen('\n', "\n\u{feff}", 1),
        CLEAN.replacen('\n', "\r", 3),
    ] {
        fs::write(&office, &text).unwrap();
        let output = run(folder.path(), &["lint"]);
        assert_eq!(code(&output), 1, "{}", out(&output));
        assert!(out(&output).contains("[statement-unreadable]"), "{}", out(&output));
    }
    fs::write(&office, format!("\u{feff}{}", CLEAN.replace('\n', "\r\n"))).unwrap();
    assert_eq!(code(&run(folder.path(), &["lint"])), 0);
}

#[cfg(unix)]
#[test]
fn names_that_are_no_utf8_are_compared_too() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let folder = repository();
    let odd = folder.path().join("offices").join(OsStr::from_bytes(b"caf\xe9.office"));
    if fs::write(&odd, office("fir-hollow", 1)).is_err() {
        assert!(
            std::env::var_os("CI").is_none(),
            "names must be UTF-8 here, and cannot be tested"
        );
        eprintln!("skipped: names must be UTF-8 here");
        return;
    }
    commit(folder.path(), "an odd name");
    let same = out(&run(folder.path(), &["compare", "HEAD", "--output", "json"]));
    let same: Value = serde_json::from_str(&same).unwrap();
    assert_eq!(same["offices"], Value::Array(Vec::new()), "{same}");
    let unchanged = out(&run(folder.path(), &["lint", "--since", "HEAD"]));
    assert!(unchanged.contains("2 files were not checked"), "{unchanged}");
    fs::write(&odd, office("fir-hollow", 1).replace("30 psi", "31 psi")).unwrap();
    let changed = out(&run(folder.path(), &["compare", "HEAD", "--output", "json"]));
    let changed: Value = serde_json::from_str(&changed).unwrap();
    let offices = changed["offices"].as_array().unwrap();
    assert_eq!(offices.len(), 1, "{changed}");
    assert!(
        offices[0]["path"].to_string().contains("xe9") || changed.to_string().contains("xe9"),
        "{changed}"
    );
    let affected = out(&run(folder.path(), &["lint", "--since", "HEAD"]));
    assert!(affected.contains("1 file was not checked"), "{affected}");
}

#[test]
fn submodules_are_named() {
    let folder = repository();
    let head = out(&git(folder.path(), &["rev-parse", "HEAD"]));
    let entry = format!("160000,{},vendor", head.trim());
    git(folder.path(), &["update-index", "--add", "--cacheinfo", &entry]);
    git(folder.path(), &["commit", "--quiet", "--message", "a submodule"]);
    for arguments in [
        &["compare", "HEAD"][..],
        &["compare", "HEAD~1", "HEAD"],
        &["compare", "HEAD~1"],
    ] {
        // In the working tree it is there only once it has been fetched.
        let vendor = folder.path().join("vendor");
        fs::create_dir_all(&vendor).unwrap();
        fs::write(vendor.join(".git"), "gitdir: ../.git/modules/vendor\n").unwrap();
        fs::write(vendor.join("fir.office"), office("fir-hollow", 1)).unwrap();
        let output = run(folder.path(), arguments);
        assert_eq!(code(&output), 0, "{arguments:?}: {output:?}");
        assert!(
            out(&output).contains("Left out: vendor: what is in this submodule is not compared"),
            "{arguments:?}: {output:?}"
        );
        assert!(!out(&output).contains("fir-hollow"), "{arguments:?}: {}", out(&output));
    }
}

#[test]
fn revisions_are_what_git_calls_revisions_and_no_options() {
    let folder = repository();
    let path = folder.path();
    fs::write(path.join("offices/fir.office"), office("fir-hollow", 1)).unwrap();
    commit(path, "the second office");
    for revision in ["HEAD", "main~1", ":/second", "HEAD^{/start}", "HEAD^{}", "@"] {
        for arguments in [&["compare", revision][..], &["lint", "--since", revision]] {
            let output = run(path, arguments);
            assert_eq!(code(&output), 0, "{arguments:?}: {}", err(&output));
        }
    }
    for revision in [
        "--output=/tmp/x",
        "-x",
        "HEAD..HEAD",
        "^HEAD",
        ":/nothing like it",
        "HEAD:offices",
        ":offices/elm.office",
        "nothing",
        "",
    ] {
        let output = run(path, &["lint", &format!("--since={revision}")]);
        assert_eq!(code(&output), 2, "{revision}: {output:?}");
        assert!(
            err(&output).contains("git knows no revision"),
            "{revision}: {}",
            err(&output)
        );
        let output = run(path, &["compare", "--", revision]);
        assert_eq!(code(&output), 2, "{revision}: {output:?}");
    }
}
