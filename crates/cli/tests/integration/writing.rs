//! What a command writes is there whole or not at all, and keeps what the file had.

use std::fs::{self, OpenOptions};
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::Path;
use std::process::{Command, Output};

use crate::common::{CLEAN, code, command, contents, err, office, repository, run};

const UNTIDY: &str = "manifold   mf{ports 4}";

/// Runs the command where no file may grow beyond 512 or 1,024 bytes, as shells count: what a full disk does, for any user.
fn without_room(folder: &Path, arguments: &[&str]) -> Output {
    Command::new("sh")
        .args([
            "-c",
            "trap '' XFSZ; ulimit -f 1; exec \"$0\" \"$@\"",
            env!("CARGO_BIN_EXE_drysheath"),
        ])
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap()
}

#[test]
fn a_full_disk_leaves_what_was_there() {
    let folder = repository();
    let path = folder.path();
    let untidy = CLEAN.replace("title ", "title      ");
    fs::write(path.join("offices/elm.office"), &untidy).unwrap();
    for name in ["log.sarif", "other.sarif", "records.csv"] {
        fs::write(path.join(name), "what was there\n").unwrap();
    }
    // Empty folders take no room that a disk could lack.
    fs::create_dir_all(path.join("pictures/offices/elm")).unwrap();
    let before = contents(path);
    for arguments in [
        &["format"][..],
        &["lint", "--output", "sarif=log.sarif"],
        &["lint", "--output", "sarif=other.sarif", "--output", "sarif=log.sarif"],
        &["records", ".", "--output", "csv=records.csv"],
        &["predict", ".", "--pictures", "pictures"],
        &["start", "new"],
        &["start", "new/deep"],
    ] {
        let output = without_room(path, arguments);
        assert_eq!(code(&output), 2, "{arguments:?}: {output:?}");
        assert!(
            !err(&output).contains("panicked") && !err(&output).is_empty(),
            "{arguments:?}: {}",
            err(&output)
        );
        assert_eq!(contents(path), before, "{arguments:?}");
    }
    // With room each of them does what it is for.
    assert_eq!(code(&run(path, &["lint", "--output", "sarif=log.sarif"])), 0);
    assert!(fs::read_to_string(path.join("log.sarif")).unwrap().contains("2.1.0"));
}

#[test]
fn format_keeps_what_a_file_has_besides_its_text() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.office");
    fs::write(&path, UNTIDY).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o4751)).unwrap();
    let name = "user.drysheath.test";
    let has_attributes = rustix::fs::setxattr(&path, name, b"kept", rustix::fs::XattrFlags::empty()).is_ok();
    if !has_attributes {
        eprintln!("not tested: this file system has no extended attributes for users");
    }
    // Only the superuser can give a file away.
    let given = std::os::unix::fs::chown(&path, Some(1234), Some(4321)).is_ok();
    if given {
        fs::set_permissions(&path, fs::Permissions::from_mode(0o4751)).unwrap();
    }
    let output = run(folder.path(), &["format"]);
    assert_eq!((code(&output), err(&output).as_str()), (0, ""), "{output:?}");
    let after = fs::metadata(&path).unwrap();
    assert!(fs::read_to_string(&path).unwrap().ends_with("}\n"));
    assert_eq!(after.mode() & 0o7777, 0o4751);
    if given {
        assert_eq!((after.uid(), after.gid()), (1234, 4321));
    }
    if has_attributes {
        let mut value = [0; 16];
        let length = rustix::fs::getxattr(&path, name, &mut value).unwrap();
        assert_eq!(&value[..length], b"kept");
    }
}

#[test]
fn format_says_that_other_names_keep_the_old_text() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.office");
    fs::write(&path, UNTIDY).unwrap();
    fs::hard_link(&path, folder.path().join("a.copy")).unwrap();
    let output = run(folder.path(), &["format"]);
    assert_eq!(code(&output), 0, "{output:?}");
    assert!(
        err(&output).contains("a.office: 1 other name (hard link) keeps the old text"),
        "{}",
        err(&output)
    );
    assert_eq!(fs::read_to_string(folder.path().join("a.copy")).unwrap(), UNTIDY);
}

#[test]
fn a_file_that_is_read_only_is_left_and_the_others_are_not() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.office");
    fs::write(&path, UNTIDY).unwrap();
    fs::write(folder.path().join("b.office"), UNTIDY).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
    let output = run(folder.path(), &["format"]);
    assert_eq!(code(&output), 2, "{output:?}");
    assert!(err(&output).contains("a.office: "), "{}", err(&output));
    assert_eq!(fs::read_to_string(&path).unwrap(), UNTIDY);
    assert_ne!(fs::read_to_string(folder.path().join("b.office")).unwrap(), UNTIDY);
    fs::write(folder.path().join("log.sarif"), "old").unwrap();
    fs::set_permissions(folder.path().join("log.sarif"), fs::Permissions::from_mode(0o444)).unwrap();
    let output = run(folder.path(), &["lint", "--output", "sarif=log.sarif"]);
    assert_eq!(code(&output), 2, "{output:?}");
    assert_eq!(fs::read_to_string(folder.path().join("log.sarif")).unwrap(), "old");
}

#[test]
fn what_a_killed_run_has_left_is_removed_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    fs::write(path.join("a.office"), UNTIDY).unwrap();
    fs::write(path.join(".drysheath-dead.tmp"), "half").unwrap();
    fs::write(path.join(".drysheath-living.tmp"), "half").unwrap();
    let living = OpenOptions::new()
        .write(true)
        .open(path.join(".drysheath-living.tmp"))
        .unwrap();
    living.lock().unwrap();
    fs::write(path.join(".drysheath-notes.txt"), "mine").unwrap();
    assert_eq!(code(&run(path, &["format"])), 0);
    let mut left: Vec<String> = fs::read_dir(path)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    left.sort();
    assert_eq!(left, [".drysheath-living.tmp", ".drysheath-notes.txt", "a.office"]);
}

#[test]
fn a_kill_leaves_each_file_old_or_new() {
    const FILES: usize = 300;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    let new = office("elm-hollow", 0);
    let old = new.replace("title ", "title      ");
    let file = |at: usize| path.join(format!("{at}.office"));
    for delay in [2, 10, 30, 60, 120] {
        for at in 0..FILES {
            fs::write(file(at), &old).unwrap();
        }
        let mut child = command(path, &["format"]).spawn().unwrap();
        std::thread::sleep(std::time::Duration::from_millis(delay));
        child.kill().unwrap();
        child.wait().unwrap();
        for at in 0..FILES {
            let text = fs::read_to_string(file(at)).unwrap();
            assert!(text == old || text == new, "{at}");
        }
    }
    assert_eq!(code(&run(path, &["format"])), 0);
    // The last run may have had nothing to write; one that has clears what is left.
    fs::write(file(0), &old).unwrap();
    assert_eq!(code(&run(path, &["format"])), 0);
    assert_eq!(fs::read_dir(path).unwrap().count(), FILES);
    assert!((0..FILES).all(|at| fs::read_to_string(file(at)).unwrap() == new));
}
