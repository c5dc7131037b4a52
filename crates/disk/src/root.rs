use std::path::{Path, PathBuf};

use drysheath_office::nearest;

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

/// The file of parts below `root` whose name is nearest to `name`, in the same folder: for a suggestion.
pub fn similar(root: &Path, name: &str) -> Option<String> {
    let (folder, stem) = name.rsplit_once('/').unwrap_or(("", name));
    let meant = follow(&root.join(folder), Some(root)).ok()?;
    let entries = std::fs::read_dir(meant.real).ok()?;
    let mut stems: Vec<String> = entries
        .filter_map(|entry| {
            let path = entry.ok()?.path();
            let fits = path.extension().is_some_and(|extension| extension == EXTENSION);
            fits.then(|| path.file_stem().map(|stem| stem.to_string_lossy().into_owned()))?
        })
        .collect();
    stems.sort_unstable();
    let near = nearest(stem, stems.iter().map(String::as_str))?;
    Some(if folder.is_empty() {
        near.to_owned()
    } else {
        format!("{folder}/{near}")
    })
}
