//! The disk as a workspace asks for it.

use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};

use drysheath_disk::Disk;
use drysheath_workspace::FileSource;

use crate::{folder_of, write};

#[test]
fn the_offices_of_a_folder_are_named_as_a_use_names_them() {
    let (_folder, path) = folder_of(&[
        "parts/valves.office",
        "parts/blocks.office",
        "parts/readme.md",
        "a.office",
    ]);
    assert_eq!(Disk.names_in(&path, "parts"), ["parts/blocks", "parts/valves"]);
    assert_eq!(Disk.names_in(&path, ""), ["a"]);
    assert_eq!(Disk.names_in(&path, "missing"), [""; 0]);
}

#[test]
fn a_file_that_is_missing_is_not_a_file_that_cannot_be_read() {
    let (_folder, path) = folder_of(&[]);
    write(&path.join("a.office"), "office a");
    let text = |name: &str| {
        let content = Disk.read(&path.join(name), &path);
        content.map(|content| content.map(|content| content.text.to_string()))
    };
    assert_eq!(text("a.office"), Ok(Some("office a".to_owned())));
    assert_eq!(text("b.office"), Ok(None));
    assert_eq!(text("."), Err("it is a folder, not a file".to_owned()));
}

#[test]
fn the_settings_of_a_folder_are_those_above_it_and_the_root_is_the_topmost() {
    let (_folder, path) = folder_of(&["drysheath.toml", "deep/er/a.office"]);
    assert_eq!(Disk.settings_above(&path.join("deep/er")), std::slice::from_ref(&path));
    write(&path.join("deep/drysheath.toml"), "");
    assert_eq!(Disk.settings_above(&path.join("deep/er")), [path.join("deep"), path]);
}

#[test]
fn only_links_are_followed_elsewhere() {
    let (_folder, path) = folder_of(&["drysheath.toml", "a.office"]);
    symlink("a.office", path.join("link.office")).unwrap();
    let followed = |name: &str| Disk.followed(&path.join(name), &path);
    assert_eq!(followed("link.office"), Some(path.join("a.office")));
    assert_eq!(followed("a.office"), None);
    assert_eq!(Disk.real_path(&path.join("link.office")), Some(path.join("a.office")));
    assert_eq!(
        Disk.real_path(Path::new("")),
        Some(PathBuf::from(".").canonicalize().unwrap())
    );
}
