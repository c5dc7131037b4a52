//! Changes since a revision, and the files they can affect.

use std::collections::HashMap;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use drysheath_disk::{EXTENSION, SETTINGS, canonical, open};
use drysheath_workspace::{LoweredFile, Snapshot};
use rustc_hash::FxHashMap;

use crate::git::{Blob, Git, Objects, is_ours};

/// Files at a revision in all working trees that the arguments reach, and which of them are unchanged.
pub(crate) struct Since {
    trees: Vec<Before>,
    /// Comparisons so far, by path without links.
    compared: Mutex<FxHashMap<PathBuf, bool>>,
}

/// Files and links of one working tree at the revision.
struct Before {
    top: PathBuf,
    objects: Objects,
    /// Object id of each, and whether it is a link, by path from the top.
    blobs: HashMap<PathBuf, (String, bool)>,
}

impl Since {
    /// Reads from git the state at `revision` of the trees around `paths`.
    ///
    /// # Errors
    ///
    /// A message if git fails.
    pub fn new(revision: &str, paths: &[PathBuf]) -> io::Result<Self> {
        let mut trees: Vec<Before> = Vec::new();
        for path in paths {
            let folder = if path.is_dir() {
                path.as_path()
            } else {
                path.parent().unwrap_or(Path::new(""))
            };
            let git = Git::around(folder)?;
            if trees.iter().all(|tree| tree.top != git.top()) {
                let commit = git.commit(revision)?;
                let blobs = git.tree(&commit)?.blobs.into_iter();
                trees.push(Before {
                    top: git.top().to_owned(),
                    objects: Objects::like(&commit),
                    blobs: blobs
                        .filter(is_compared)
                        .map(|blob| (blob.path, (blob.object, blob.is_link)))
                        .collect(),
                });
            }
        }
        // Of nested trees, the innermost counts.
        trees.sort_by_key(|tree| std::cmp::Reverse(tree.top.components().count()));
        Ok(Self {
            trees,
            compared: Mutex::default(),
        })
    }

    /// Whether the changes can affect a file: the file itself, those it uses directly or indirectly, or the settings.
    pub fn affects(&self, snapshot: &Snapshot, reading: &LoweredFile) -> bool {
        let root = &reading.repository.root;
        let root = if root.as_os_str().is_empty() {
            Path::new(".")
        } else {
            root
        };
        // If the root cannot be resolved any more, every file counts as changed.
        let Ok(root) = canonical(root) else { return true };
        let path = |name: &str| root.join(name).with_extension(EXTENSION);
        let used = || {
            snapshot
                .files_within_reach(reading.file, reading.office.files_named())
                .into_iter()
                .map(|(name, _)| name)
        };
        let Ok(own) = canonical(&reading.path) else {
            return true;
        };
        // Settings affect everything below them, and so does removing them.
        let mut folders = own.ancestors().skip(1).take_while(|folder| folder.starts_with(&root));
        self.has_changed(&own)
            || folders.any(|folder| self.has_changed(&folder.join(SETTINGS)))
            || used().any(|name| self.has_changed(&path(&name)))
    }

    /// Whether a file, or a link on the path to it, differs from the revision. Files outside all trees count as
    /// changed.
    fn has_changed(&self, path: &Path) -> bool {
        let known = self
            .compared
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .get(path)
            .copied();
        known.unwrap_or_else(|| {
            let changed = self.compare(path);
            let mut compared = self.compared.lock().unwrap_or_else(PoisonError::into_inner);
            compared.insert(path.to_owned(), changed);
            changed
        })
    }

    fn compare(&self, path: &Path) -> bool {
        let Some(tree) = self.trees.iter().find(|tree| path.starts_with(&tree.top)) else {
            return path.symlink_metadata().is_ok();
        };
        let on_the_way = path.ancestors().take_while(|above| **above != *tree.top);
        let mut links = on_the_way.filter(|above| above.is_symlink() || tree.was_link(above));
        if links.any(|link| tree.is_other_link(link)) {
            return true;
        }
        match canonical(path) {
            Ok(real) => tree.is_other_file(&real),
            Err(_) => tree.blob(path).is_some(),
        }
    }
}

impl Before {
    fn blob(&self, path: &Path) -> Option<&(String, bool)> {
        self.blobs.get(path.strip_prefix(&self.top).ok()?)
    }

    fn was_link(&self, path: &Path) -> bool {
        self.blob(path).is_some_and(|(_, is_link)| *is_link)
    }

    fn is_other_link(&self, path: &Path) -> bool {
        let (Ok(target), Some((object, true))) = (path.read_link(), self.blob(path)) else {
            return true;
        };
        self.objects.name(target.as_os_str().as_encoded_bytes()) != *object
    }

    fn is_other_file(&self, path: &Path) -> bool {
        let Some((object, false)) = self.blob(path) else {
            return true;
        };
        let mut bytes = Vec::new();
        let read = open(path, Some(&self.top)).and_then(|mut file| file.read_to_end(&mut bytes));
        read.is_err() || self.objects.names(&bytes).all(|name| name != *object)
    }
}

/// Whether a file is relevant: offices, parts and settings, and all links, since they may lead to folders of such
/// files.
fn is_compared(blob: &Blob) -> bool {
    blob.is_link || is_ours(&blob.path)
}
