use std::path::{Path, PathBuf};

use crate::EXTENSION;
use crate::disk::or_here;
use crate::links::{follow, has_settings};

/// The nearest folder at or above `folder` that has settings. The path stays as the user gave it as long as it can.
pub fn root_above(folder: &Path) -> Option<PathBuf> {
    if let Some(above) = folder.ancestors().find(|above| has_settings(above)) {
        return Some(above.to_owned());
    }
    let whole = or_here(folder).canonicalize().ok()?;
    whole.ancestors().find(|above| has_settings(above)).map(Path::to_owned)
}

/// The files of this language in `folder` below `root`, as a `use` names them, in order.
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
