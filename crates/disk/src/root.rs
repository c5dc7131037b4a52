use std::path::{Component, Path, PathBuf};

use crate::EXTENSION;
use crate::disk::or_here;
use crate::links::{follow, has_settings, is_top_of_git};

/// Folders whose settings apply in `folder`, the nearest first. The last one is the root of the repository: the topmost
/// folder with settings that is in the same git working tree as the nearest one. The paths are in the form the user
/// gave where possible.
pub fn settings_above(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    if collect(written_above(folder), &mut found) {
        return found;
    }
    // Folders above the current folder, or above a folder reached by `..`, are known only by the path without links.
    let top = written_above(folder).last().unwrap_or(folder).to_owned();
    let top_is_counted = !has_parent_at_end(&top);
    if let Ok(whole) = crate::canonical(or_here(&top)) {
        collect(whole.ancestors().skip(usize::from(top_is_counted)), &mut found);
    }
    if found.is_empty() {
        // The path to the folder may contain a link.
        if let Ok(whole) = crate::canonical(or_here(folder)) {
            collect(whole.ancestors(), &mut found);
        }
    }
    found
}

/// Adds the folders that have settings. Returns whether no folder further up can belong to them.
fn collect<'p>(folders: impl Iterator<Item = &'p Path>, found: &mut Vec<PathBuf>) -> bool {
    for above in folders {
        if has_settings(above) {
            found.push(above.to_owned());
        }
        if !found.is_empty() && is_top_of_git(above) {
            return true;
        }
    }
    false
}

/// A folder and its parents, as far as they can be derived from the path as written.
fn written_above(folder: &Path) -> impl Iterator<Item = &Path> {
    let has_dot = |path: &Path| path.components().next() == Some(Component::CurDir);
    folder
        .ancestors()
        // After `.`, an empty path would be the same folder again.
        .take_while(move |above| !(has_parent_at_end(above) || above.as_os_str().is_empty() && has_dot(folder)))
}

/// Whether a path ends with `..`, so that the name of the folder is not in it.
fn has_parent_at_end(path: &Path) -> bool {
    path.components().next_back() == Some(Component::ParentDir)
}

/// Names of the files in `folder` below `root`, as used in `use` statements, in order.
pub fn names_in(root: &Path, folder: &str) -> Vec<String> {
    let entries = follow(&root.join(folder), Some(root)).map(|meant| std::fs::read_dir(meant.real));
    let Ok(Ok(entries)) = entries else {
        return Vec::new();
    };
    let mut names: Vec<String> = entries
        .filter_map(|entry| {
            let path = entry.ok()?.path();
            let is_ours = path.extension().is_some_and(|extension| extension == EXTENSION);
            let stem = path.file_stem().filter(|_| is_ours)?.to_string_lossy().into_owned();
            Some(if folder.is_empty() {
                stem
            } else {
                format!("{folder}/{stem}")
            })
        })
        .collect();
    names.sort_unstable();
    names
}
