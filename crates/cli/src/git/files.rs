//! Offices, parts files and settings of a commit.

use std::collections::HashMap;
use std::io;
use std::path::Path;

use drysheath_disk::{EXTENSION, SETTINGS, read_from};
use drysheath_workspace::{Content, Memory};
use rayon::prelude::*;

use super::{Blob, Git, Tree};

/// Whether a path is that of an office, a parts file or settings.
pub(crate) fn is_ours(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension == EXTENSION)
        || path.file_name().is_some_and(|name| name == SETTINGS)
}

impl Git {
    /// Offices, parts files and settings of a commit. A link counts as its target, if that is a file of the same
    /// commit; anything else left out is reported in `notes`.
    ///
    /// # Errors
    ///
    /// If git fails.
    pub fn our_files(&self, tree: &Tree, called: &str, notes: &mut Vec<String>) -> io::Result<Vec<Blob>> {
        let submodules = tree.submodules.iter();
        notes.extend(submodules.map(|name| format!("{name}: what is in this submodule is not compared")));
        let all = &tree.blobs;
        let (links, ours): (Vec<&Blob>, Vec<&Blob>) = all
            .iter()
            .filter(|blob| is_ours(&blob.path))
            .partition(|blob| blob.is_link);
        let objects: Vec<&str> = links.iter().map(|blob| blob.object.as_str()).collect();
        let targets = self.read(&objects)?;
        let by_name: HashMap<&str, &Blob> = all.iter().map(|blob| (blob.name.as_str(), blob)).collect();
        let mut ours: Vec<Blob> = ours.into_iter().cloned().collect();
        for (link, target) in links.iter().zip(targets) {
            let target = String::from_utf8_lossy(&target).into_owned();
            let found = target_of(&link.name, &target).and_then(|name| by_name.get(name.as_str()).copied());
            match found.filter(|found| !found.is_link) {
                Some(found) => ours.push(Blob {
                    name: link.name.clone(),
                    path: link.path.clone(),
                    ..found.clone()
                }),
                None => notes.push(format!(
                    "{}: in {called} it is a link to {target}, which is no file there; it is not compared",
                    link.name
                )),
            }
        }
        Ok(ours)
    }

    /// Contents of files of commits. Objects that are `known` are not read; those that are read are added to it.
    ///
    /// # Errors
    ///
    /// If git cannot read one of them.
    pub fn contents(&self, blobs: Vec<Blob>, known: &mut HashMap<String, Content>) -> io::Result<Memory> {
        let objects = blobs.iter().map(|blob| blob.object.as_str());
        let mut unknown: Vec<&str> = objects.filter(|object| !known.contains_key(*object)).collect();
        unknown.sort_unstable();
        unknown.dedup();
        let read = self.read(&unknown)?.into_par_iter().zip(&unknown);
        let read = read.map(|(bytes, object)| Ok(((*object).to_owned(), read_from(bytes.as_slice(), bytes.len())?)));
        known.extend(read.collect::<io::Result<Vec<_>>>()?);
        let files = blobs.into_iter().filter_map(|blob| {
            let content = known.get(&blob.object)?.clone();
            Some((blob.name, content))
        });
        Ok(files.collect())
    }
}

/// Path, relative to the top of the tree, of the target of a link at `path`. `None` if it is outside the tree.
fn target_of(path: &str, target: &str) -> Option<String> {
    let mut parts: Vec<&str> = path.split('/').collect();
    parts.pop();
    for part in target.split('/') {
        match part {
            "" => return None,
            "." => {}
            ".." => drop(parts.pop()?),
            _ => parts.push(part),
        }
    }
    Some(parts.join("/"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn links_are_followed_within_the_tree() {
        assert_eq!(
            target_of("offices/a.office", "../north/b.office").as_deref(),
            Some("north/b.office")
        );
        assert_eq!(target_of("a.office", "../b.office"), None);
        assert_eq!(target_of("a.office", "/etc/b.office"), None);
    }
}
