//! The files and folders that the arguments of a command name.

use std::path::{Path, PathBuf};

use drysheath_disk::EXTENSION;

/// The folders that the arguments name, each by the form that files found in it have. Where no settings are above a file,
/// every `use` in it counts from the folder that was named, and of two that lie in each other from the one named first.
pub(crate) fn folders<'p>(paths: impl Iterator<Item = &'p Path>) -> Vec<PathBuf> {
    let mut folders: Vec<PathBuf> = Vec::new();
    for path in paths {
        let folder = if path.is_dir() {
            path.strip_prefix(".").unwrap_or(path)
        } else {
            path.parent().unwrap_or(Path::new(""))
        };
        let is_within = |other: &PathBuf| {
            let leads_elsewhere = other.as_os_str().is_empty() && (folder.is_absolute() || folder.starts_with(".."));
            folder.starts_with(other) && !leads_elsewhere
        };
        if !folders.iter().any(is_within) {
            folders.push(folder.to_owned());
        }
    }
    folders
}

/// The folder that no link may lead out of, where no settings are above: the one that was named, or that of the file.
pub(crate) fn boundary(named: &Path) -> &Path {
    if named.is_dir() {
        named
    } else {
        named.parent().unwrap_or(Path::new(""))
    }
}

/// Why a file is not there, in the words of the system.
pub(crate) fn missing(path: &Path) -> String {
    let error = std::fs::metadata(path).err();
    error.map_or_else(|| "it no longer exists".to_owned(), |error| error.to_string())
}

/// The option by which a user says that there may be no offices.
pub(crate) const ALLOW_EMPTY: &str = "--allow-empty";

/// Why a folder without offices fails: a misspelt path or a partial checkout must not pass a gate.
pub(crate) fn empty(folder: &Path) -> String {
    format!(
        "{}: there is no file with the extension .{EXTENSION} that is not ignored; {ALLOW_EMPTY} allows that",
        folder.display()
    )
}
