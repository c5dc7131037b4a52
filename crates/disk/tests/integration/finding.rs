//! Which files the paths of a command mean.

use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};

use drysheath_disk::{Files, find};

use crate::{folder_of, write};

/// The files found below a folder, by their paths from it.
fn below(folder: &Path, files: &Files) -> Vec<String> {
    let inner = |path: &PathBuf| path.strip_prefix(folder).unwrap().to_str().unwrap().to_owned();
    files.files.iter().map(inner).collect()
}

#[test]
fn a_folder_means_the_offices_in_it_that_are_not_ignored() {
    let (_folder, path) = folder_of(&["b.office", "a/deep/c.office", "a.office", "notes.md", "old/d.office"]);
    write(&path.join(".gitignore"), "old/\n");
    let found = find(std::slice::from_ref(&path));
    assert_eq!(below(&path, &found), ["a/deep/c.office", "a.office", "b.office"]);
    assert_eq!((found.empty.len(), found.troubles.len()), (0, 0), "{found:?}");
}

#[test]
fn a_file_means_itself_whatever_it_is_called() {
    let (_folder, path) = folder_of(&["b.office", "a.office", "draft"]);
    let named = ["draft", "b.office", "missing.office", "b.office"].map(|name| path.join(name));
    let found = find(&named);
    // Whoever reads it sees that one is missing.
    assert_eq!(below(&path, &found), ["draft", "b.office", "missing.office"]);
    assert_eq!((found.empty.len(), found.troubles.len()), (0, 0), "{found:?}");
}

#[test]
fn a_folder_without_offices_is_named() {
    let (_folder, path) = folder_of(&["offices/a.office", "notes/readme.md"]);
    let found = find(&[path.join("offices"), path.join("notes")]);
    assert_eq!(found.empty, [path.join("notes")]);
    assert_eq!(below(&path, &found), ["offices/a.office"]);
}

#[test]
fn a_link_counts_as_the_file_that_it_leads_to() {
    let (_folder, path) = folder_of(&["drysheath.toml", "offices/a.office", "parts/b.office"]);
    symlink("a.office", path.join("offices/again.office")).unwrap();
    symlink("../parts/b.office", path.join("offices/b.office")).unwrap();
    let found = find(&[path.join("offices")]);
    assert_eq!(below(&path, &found), ["offices/a.office", "parts/b.office"]);
    let link = |name: &str, file: &str| (path.join("offices").join(name), path.join(file));
    assert_eq!(
        found.links,
        [
            link("again.office", "offices/a.office"),
            link("b.office", "parts/b.office")
        ]
    );
    assert_eq!(found.troubles, [""; 0]);
}

#[test]
fn a_link_to_the_folder_around_it_is_a_loop() {
    let (_folder, path) = folder_of(&["drysheath.toml", "offices/a.office"]);
    symlink("..", path.join("offices/up")).unwrap();
    let found = find(std::slice::from_ref(&path));
    assert_eq!(below(&path, &found), ["offices/a.office"]);
    assert_eq!(found.troubles.len(), 1, "{found:?}");
    assert!(
        found
            .troubles
            .iter()
            .all(|why| why.ends_with("which it lies in: a loop")),
        "{found:?}"
    );
}
