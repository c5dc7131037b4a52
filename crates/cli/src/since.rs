//! What has changed since a revision, and which files that can affect.

use std::collections::{HashMap, HashSet};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use drysheath_disk::{EXTENSION, SETTINGS};
use drysheath_workspace::{LoweredFile, Snapshot, slashed};

use crate::git::Git;

/// What has changed since a revision, in every working tree that the arguments reach.
pub(crate) struct Since {
    changed: Vec<PathBuf>,
    by_root: Mutex<HashMap<PathBuf, Arc<Changes>>>,
}

/// What has changed in one repository of offices.
#[derive(Debug, Default, PartialEq, Eq)]
struct Changes {
    /// Files, as a `use` would name them.
    names: HashSet<String>,
    /// Folders all of whose files count as changed, each with a `/` at its end; all of them where one is empty.
    folders: Vec<String>,
}

impl Since {
    /// Asks git what has changed since `revision` around each of `paths`.
    ///
    /// # Errors
    ///
    /// In words, if git cannot tell.
    pub fn new(revision: &str, paths: &[PathBuf]) -> io::Result<Self> {
        let mut tops = HashSet::new();
        let mut changed = Vec::new();
        for path in paths {
            let folder = if path.is_dir() {
                path.as_path()
            } else {
                path.parent().unwrap_or(Path::new(""))
            };
            let git = Git::around(folder)?;
            if tops.insert(git.top().to_owned()) {
                let commit = git.commit(revision)?;
                let top = git.top().canonicalize()?;
                changed.extend(git.changed_since(&commit)?.iter().map(|path| top.join(path)));
            }
        }
        Ok(Self {
            changed,
            by_root: Mutex::default(),
        })
    }

    /// Whether what has changed can affect a file: the file itself, what it uses, what that uses in turn, the settings.
    pub fn affects(&self, snapshot: &Snapshot, reading: &LoweredFile) -> bool {
        let changes = self.of(&reading.repository.root);
        let is_sound = reading.problem.is_none();
        let used = || {
            snapshot
                .files_within_reach(&reading.office)
                .into_iter()
                .map(|(name, _)| name)
        };
        changes.has(&reading.name) || (is_sound && used().any(|name| changes.has(&name)))
    }

    fn of(&self, root: &Path) -> Arc<Changes> {
        let mut by_root = self.by_root.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = by_root.get(root) {
            return Arc::clone(known);
        }
        let here = if root.as_os_str().is_empty() {
            Path::new(".")
        } else {
            root
        };
        // A root that cannot be found any more has no unchanged files.
        let real = here.canonicalize().unwrap_or_else(|_| here.to_owned());
        let changes = Arc::new(Changes::below(&real, &self.changed));
        by_root.insert(root.to_owned(), Arc::clone(&changes));
        changes
    }
}

impl Changes {
    fn below(root: &Path, changed: &[PathBuf]) -> Self {
        let mut own = Self::default();
        for path in changed {
            let Ok(inner) = path.strip_prefix(root) else {
                // A folder above the root that is new as a whole.
                if root.starts_with(path) {
                    own.folders.push(String::new());
                }
                continue;
            };
            if path.is_dir() {
                own.folders.push(folder(inner));
            } else if path.file_name().is_some_and(|name| name == SETTINGS) {
                // Settings hold for all that is below them, and so does their going away.
                own.folders.push(folder(inner.parent().unwrap_or(Path::new(""))));
            } else if path.extension().is_some_and(|extension| extension == EXTENSION) {
                own.names.insert(slashed(&inner.with_extension("")));
            }
        }
        own
    }

    fn has(&self, name: &str) -> bool {
        self.names.contains(name) || self.folders.iter().any(|folder| name.starts_with(folder.as_str()))
    }
}

fn folder(path: &Path) -> String {
    let mut path = slashed(path);
    if !path.is_empty() {
        path.push('/');
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    fn changes(changed: &[&str]) -> Changes {
        let changed: Vec<PathBuf> = changed.iter().map(PathBuf::from).collect();
        Changes::below(Path::new("/top/county"), &changed)
    }

    #[test]
    fn files_count_by_their_names_in_the_repository() {
        let changes = changes(&["/top/county/parts/far.office", "/top/elsewhere/parts/other.office"]);
        assert!(changes.has("parts/far"));
        assert!(!changes.has("parts/other"));
    }

    #[test]
    fn settings_count_for_all_below_them() {
        let north = changes(&["/top/county/north/drysheath.toml"]);
        assert!(north.has("north/a") && !north.has("northern/a"));
        assert!(changes(&["/top/county/drysheath.toml"]).has("north/a"));
    }
}
