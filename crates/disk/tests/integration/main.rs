//! The disk as this crate reads and writes it.
#![cfg(unix)]
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a test fails by a panic"
)]
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    clippy::disallowed_macros,
    reason = "tests write files"
)]

mod finding;
mod replacing;
mod source;

use std::fs;
use std::path::{Path, PathBuf};

/// A folder with empty files, whose own path has no links, and which is removed when the first value is dropped.
fn folder_of(files: &[&str]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().canonicalize().unwrap();
    for file in files {
        write(&path.join(file), "");
    }
    (folder, path)
}

fn write(path: &Path, text: &str) {
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, text).unwrap();
}

/// The files directly in a folder, in order.
fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}
