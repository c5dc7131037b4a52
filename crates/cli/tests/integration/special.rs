//! What is no file is refused with a message, and never waited for.

use std::fs;
use std::os::unix::net::UnixListener;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::common::{CLEAN, code, command, ended, err, out, repository, run};

fn pipe(path: &Path) {
    assert!(Command::new("mkfifo").arg(path).status().unwrap().success());
}

/// Puts something there that is no file, and says what it is called.
type Put = fn(&Path) -> &'static str;

const KINDS: [Put; 3] = [
    |path| {
        pipe(path);
        "it is a pipe, not a file"
    },
    |path| {
        // The socket stays when nobody listens any more.
        drop(UnixListener::bind(path).unwrap());
        "it is a socket, not a file"
    },
    |path| {
        std::os::unix::fs::symlink("/dev/zero", path).unwrap();
        "a link leads from here to /dev/zero"
    },
];

#[test]
fn what_is_no_file_is_refused_as_a_path() {
    for put in KINDS {
        let folder = repository();
        let what = put(&folder.path().join("offices/odd.office"));
        for arguments in [
            &["lint", "offices/odd.office"][..],
            &["lint"],
            &["predict", "offices/odd.office"],
            &["predict", "."],
            &["records", "offices/odd.office"],
            &["format", "offices/odd.office"],
            &["format", "--check"],
            &["compare", "HEAD"],
            &["lint", "--since", "HEAD"],
            &["lint", "--baseline", "offices/odd.office"],
            &["lint", "--output", "json=offices/odd.office"],
        ] {
            let output = run(folder.path(), arguments);
            assert_eq!(code(&output), 2, "{arguments:?}: {output:?}");
            assert!(err(&output).contains(what), "{arguments:?}: {}", err(&output));
        }
    }
}

#[test]
fn what_is_no_file_is_refused_as_settings() {
    let put_folder: Put = |path| {
        fs::create_dir(path).unwrap();
        "it is a folder, not a file"
    };
    for put in KINDS.into_iter().chain([put_folder]) {
        let folder = repository();
        fs::remove_file(folder.path().join("drysheath.toml")).unwrap();
        let what = put(&folder.path().join("drysheath.toml"));
        for arguments in [&["lint"][..], &["lint", "offices/elm.office"], &["compare", "HEAD"]] {
            let output = run(folder.path(), arguments);
            assert_eq!(code(&output), 2, "{arguments:?}: {output:?}");
            assert!(err(&output).contains(what), "{arguments:?}: {}", err(&output));
        }
    }
}

#[test]
fn what_is_no_file_is_refused_as_parts() {
    for put in KINDS {
        let folder = repository();
        fs::create_dir(folder.path().join("parts")).unwrap();
        put(&folder.path().join("parts/odd.office"));
        fs::write(
            folder.path().join("offices/elm.office"),
            format!("use parts/odd\n{CLEAN}"),
        )
        .unwrap();
        let output = run(folder.path(), &["lint", "offices/elm.office"]);
        assert_eq!(code(&output), 1, "{output:?}");
        assert!(out(&output).contains("parts/odd"), "{}", out(&output));
    }
}

#[test]
fn devices_and_standard_input_by_its_path_are_refused() {
    let folder = repository();
    for path in ["/dev/null", "/dev/zero", "/dev/full"] {
        for command in ["lint", "predict", "records", "format"] {
            let output = run(folder.path(), &[command, path]);
            assert_eq!(code(&output), 2, "{command} {path}: {output:?}");
            assert!(err(&output).contains("it is a device, not a file"), "{output:?}");
        }
        let output = run(folder.path(), &["lint", "--output", &format!("json={path}")]);
        assert_eq!(code(&output), 2, "{path}: {output:?}");
    }
    assert!(fs::metadata("/dev/null").unwrap().len() == 0 && !Path::new("/dev/null").is_file());
    let mut child = command(folder.path(), &["lint", "/dev/stdin"]);
    // Nobody writes to it, and it stays open.
    let mut child = child
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let open = child.stdin.take();
    let output = ended(child, &["lint", "/dev/stdin"]);
    drop(open);
    assert_eq!(code(&output), 2, "{output:?}");
    assert!(err(&output).contains("it is a pipe, not a file"), "{output:?}");
}

#[test]
fn ignore_files_must_be_files_inside() {
    for place in ["", "offices"] {
        for name in [".gitignore", ".ignore", ".git/info/exclude"] {
            for put in KINDS {
                let folder = repository();
                let path = folder.path().join(place).join(name);
                fs::create_dir_all(path.parent().unwrap()).unwrap();
                fs::remove_file(&path).ok();
                put(&path);
                let output = run(folder.path(), &["lint", "offices"]);
                assert_eq!(code(&output), 2, "{place} {name}: {output:?}");
                assert!(err(&output).contains(name), "{place} {name}: {}", err(&output));
            }
        }
    }
    let folder = repository();
    let outside = tempfile::tempdir().unwrap();
    fs::write(outside.path().join("list"), "undisclosed[\n").unwrap();
    std::os::unix::fs::symlink(outside.path().join("list"), folder.path().join(".gitignore")).unwrap();
    let output = run(folder.path(), &["lint"]);
    assert_eq!(code(&output), 2, "{output:?}");
    assert!(!err(&output).contains("undisclosed"), "{}", err(&output));
}
