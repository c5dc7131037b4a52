//! The `start` command: a new repository passes its own checks, and no file is overwritten.

use std::fs;

use tempfile::TempDir;

use crate::common::{contents, run};

#[test]
fn a_new_repository_passes_its_own_gate() {
    let folder = TempDir::new().unwrap();
    let started = run(folder.path(), &["start", "new/offices"]);
    assert_eq!(started.status.code(), Some(0));
    let new = folder.path().join("new/offices");
    for arguments in [&["lint", "--fail-on", "note"][..], &["format", "--check"]] {
        let output = run(&new, arguments);
        assert_eq!(output.status.code(), Some(0), "{arguments:?}: {output:?}");
    }
    let told = String::from_utf8(run(&new, &["lint"]).stdout).unwrap();
    assert!(told.ends_with("\n0 errors, 0 warnings, 0 notes in 2 files\n"), "{told}");
    // What the settings show as comments is what holds: taking the marks away changes nothing and is understood.
    let settings = fs::read_to_string(new.join("drysheath.toml")).unwrap();
    let said: Vec<&str> = settings
        .lines()
        .map(|line| match line.strip_prefix("# ") {
            Some(rest) if rest.contains(" = \"") => rest,
            _ => line,
        })
        .collect();
    assert!(said.iter().any(|line| line.starts_with("leak-size = ")));
    fs::write(new.join("drysheath.toml"), said.join("\n") + "\n").unwrap();
    assert_eq!(run(&new, &["lint", "--fail-on", "note"]).status.code(), Some(0));
}

#[cfg(unix)]
#[test]
fn the_gate_runs_and_fails_as_it_should() {
    let folder = TempDir::new().unwrap();
    assert_eq!(run(folder.path(), &["start", "."]).status.code(), Some(0));
    let bin = std::path::Path::new(env!("CARGO_BIN_EXE_drysheath")).parent().unwrap();
    let path = format!("{}:{}", bin.display(), std::env::var("PATH").unwrap());
    let gate = || {
        let mut command = std::process::Command::new(folder.path().join(".ci/gate"));
        command.env("PATH", &path).current_dir("/").output().unwrap()
    };
    let passed = gate();
    assert!(passed.status.success(), "{passed:?}");
    for name in ["drysheath.sarif", "drysheath.xml", "drysheath.md"] {
        assert!(folder.path().join("results").join(name).exists(), "{name}");
    }
    let office = folder.path().join("offices/elm-hollow.office");
    let text = fs::read_to_string(&office).unwrap();
    fs::write(&office, text.replace("tb pair 3", "tb pair 2")).unwrap();
    assert!(!gate().status.success());
    fs::write(&office, text.replace("block tb  ", "block tb")).unwrap();
    assert!(!gate().status.success());
    // What a baseline knows does not fail.
    fs::write(&office, text.replace("tb pair 3", "tb pair 2")).unwrap();
    gate();
    fs::rename(
        folder.path().join("results/drysheath.sarif"),
        folder.path().join("known.sarif"),
    )
    .unwrap();
    let mut command = std::process::Command::new(folder.path().join(".ci/gate"));
    let known = command
        .env("PATH", &path)
        .env("BASELINE", "known.sarif")
        .output()
        .unwrap();
    assert!(known.status.success(), "{known:?}");
}

#[test]
fn a_readme_and_a_licence_stay_and_what_to_do_next_is_said() {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("README.md"), "mine\n").unwrap();
    fs::write(folder.path().join("LICENSE"), "mine\n").unwrap();
    let output = run(folder.path(), &["start", "."]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    assert_eq!(fs::read_to_string(folder.path().join("README.md")).unwrap(), "mine\n");
    let told = String::from_utf8(output.stdout).unwrap();
    for said in [
        "README.md is there already and stays as it is",
        "git -C . init",
        "drysheath lint .",
        "merge.drysheath.driver",
        "drysheath lsp",
    ] {
        assert!(told.contains(said), "{told}");
    }
    for arguments in [&["lint", "--fail-on", "note"][..], &["format", "--check"]] {
        assert_eq!(run(folder.path(), arguments).status.code(), Some(0), "{arguments:?}");
    }
}

#[test]
fn nothing_is_overwritten_and_then_nothing_is_written() {
    for there in ["offices/elm-hollow.office", ".gitignore", "parts", ".github"] {
        let folder = TempDir::new().unwrap();
        let path = folder.path().join(there);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, "mine\n").unwrap();
        let before = contents(folder.path());
        let output = run(folder.path(), &["start", "."]);
        assert_eq!(output.status.code(), Some(2), "{there}");
        assert_eq!(contents(folder.path()), before, "{there}");
        let told = String::from_utf8(output.stderr).unwrap();
        assert!(told.contains(there) && told.contains("nothing was written"), "{told}");
    }
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("file"), "mine\n").unwrap();
    let output = run(folder.path(), &["start", "file"]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(fs::read_to_string(folder.path().join("file")).unwrap(), "mine\n");
}

#[cfg(unix)]
#[test]
fn a_link_is_not_written_through() {
    let folder = TempDir::new().unwrap();
    std::os::unix::fs::symlink("elsewhere.toml", folder.path().join("drysheath.toml")).unwrap();
    assert_eq!(run(folder.path(), &["start", "."]).status.code(), Some(2));
    assert!(!folder.path().join("elsewhere.toml").exists() && !folder.path().join("offices").exists());
}
