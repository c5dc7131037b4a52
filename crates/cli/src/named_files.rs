//! Files and folders named in the arguments of a command.

use std::path::{Path, PathBuf};

use drysheath_disk::EXTENSION;

/// Folders that the arguments name, in the form that files found in them have. If no settings are above a file, its
/// `use` statements are relative to the named folder; of nested folders, the one named first.
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

/// Folder that links must not lead out of if no settings are above: the folder named, or that of the file named.
pub(crate) fn boundary(named: &Path) -> &Path {
    if named.is_dir() {
        named
    } else {
        named.parent().unwrap_or(Path::new(""))
    }
}

/// Error message of the system for a missing file.
pub(crate) fn missing(path: &Path) -> String {
    let error = std::fs::metadata(path).err();
    error.map_or_else(|| "it no longer exists".to_owned(), |error| error.to_string())
}

/// Option that allows folders without offices.
pub(crate) const ALLOW_EMPTY: &str = "--allow-empty";

/// Error message for a folder without offices: a misspelt path or a partial checkout must not pass.
pub(crate) fn empty(folder: &Path) -> String {
    format!(
        "{}: there is no file with the extension .{EXTENSION} that is not ignored; {ALLOW_EMPTY} allows that",
        folder.display()
    )
}
