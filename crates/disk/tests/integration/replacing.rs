//! What becomes of a file, and of those beside it, when another takes its place.

use std::fs::{self, File, Permissions};
use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};

use drysheath_disk::{replace, replace_all};

use crate::{folder_of, names, write};

#[test]
fn a_file_that_is_read_only_stays() {
    let (_folder, path) = folder_of(&[]);
    let file = path.join("a.office");
    write(&file, "old");
    fs::set_permissions(&file, Permissions::from_mode(0o444)).unwrap();
    // Only the superuser may write it at all, and is told why not to.
    assert!(replace(&file, b"new").is_err());
    assert_eq!(fs::read_to_string(&file).unwrap(), "old");
    assert_eq!(names(&path), ["a.office"]);
}

#[test]
fn permissions_and_attributes_are_kept() {
    let (_folder, path) = folder_of(&[]);
    let file = path.join("a.office");
    write(&file, "old");
    fs::set_permissions(&file, Permissions::from_mode(0o640)).unwrap();
    let attributes = [("user.drysheath.one", "1"), ("user.drysheath.two", "two")];
    let has_attributes = attributes.iter().all(|(name, value)| {
        rustix::fs::setxattr(&file, *name, value.as_bytes(), rustix::fs::XattrFlags::empty()).is_ok()
    });
    assert_eq!(replace(&file, b"new").unwrap(), [""; 0]);
    assert_eq!(fs::read_to_string(&file).unwrap(), "new");
    assert_eq!(fs::metadata(&file).unwrap().mode() & 0o7777, 0o640);
    if !has_attributes {
        eprintln!("not tested: this file system has no extended attributes for users");
        return;
    }
    for (name, value) in attributes {
        let mut buffer = [0; 16];
        let length = rustix::fs::getxattr(&file, name, &mut buffer[..]).unwrap();
        assert_eq!(&buffer[..length], value.as_bytes(), "{name}");
    }
}

#[test]
fn other_names_of_a_file_are_counted() {
    let (_folder, path) = folder_of(&["a.office"]);
    let file = path.join("a.office");
    fs::hard_link(&file, path.join("b.office")).unwrap();
    assert_eq!(
        replace(&file, b"one").unwrap(),
        ["1 other name (hard link) keeps the old text"]
    );
    fs::hard_link(&file, path.join("c.office")).unwrap();
    fs::hard_link(&file, path.join("d.office")).unwrap();
    assert_eq!(
        replace(&file, b"two").unwrap(),
        ["2 other names (hard links) keep the old text"]
    );
    let text = |name: &str| fs::read_to_string(path.join(name)).unwrap();
    assert_eq!(
        ["a", "b", "c"].map(|name| text(&format!("{name}.office"))),
        ["two", "", "one"]
    );
}

#[test]
fn a_link_stays_and_its_file_is_replaced() {
    let (_folder, path) = folder_of(&["drysheath.toml", "shared/a.office"]);
    let link = path.join("a.office");
    symlink("shared/a.office", &link).unwrap();
    replace(&link, b"new").unwrap();
    assert!(link.is_symlink());
    assert_eq!(fs::read_to_string(path.join("shared/a.office")).unwrap(), "new");
}

#[test]
fn what_killed_runs_have_left_is_removed_and_nothing_else() {
    let (_folder, path) = folder_of(&[
        "north/.drysheath-killed.tmp",
        "north/.drysheath-running.tmp",
        "north/.drysheath-notes",
        "north/notes.tmp",
        "south/.drysheath-killed.tmp",
    ]);
    let running = File::open(path.join("north/.drysheath-running.tmp")).unwrap();
    running.lock().unwrap();
    let files = ["north/a.office", "north/b.office", "south/c.office"].map(|name| path.join(name));
    let files: Vec<(&std::path::Path, &[u8])> = files.iter().map(|path| (path.as_path(), &b"new"[..])).collect();
    for outcome in replace_all(&files) {
        assert_eq!(outcome.unwrap(), [""; 0]);
    }
    assert_eq!(
        names(&path.join("north")),
        [
            ".drysheath-notes",
            ".drysheath-running.tmp",
            "a.office",
            "b.office",
            "notes.tmp"
        ]
    );
    assert_eq!(names(&path.join("south")), ["c.office"]);
}
