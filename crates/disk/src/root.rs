use std::path::{Path, PathBuf};

use drysheath_office::nearest;

use crate::disk::or_here;
use crate::{EXTENSION, SETTINGS};

/// The nearest folder at or above `folder` that has settings. The path stays as the user gave it as long as it can.
pub fn root_above(folder: &Path) -> Option<PathBuf> {
    for ancestor in folder.ancestors() {
        if ancestor.join(SETTINGS).is_file() {
            return Some(ancestor.to_owned());
        }
    }
    let whole = or_here(folder).canonicalize().ok()?;
    whole
        .ancestors()
        .find(|ancestor| ancestor.join(SETTINGS).is_file())
        .map(Path::to_owned)
}

/// The file of parts below `root` whose name is nearest to `name`, in the same folder: for a suggestion.
pub fn similar(root: &Path, name: &str) -> Option<String> {
    let (folder, stem) = name.rsplit_once('/').unwrap_or(("", name));
    let entries = std::fs::read_dir(root.join(folder)).ok()?;
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
