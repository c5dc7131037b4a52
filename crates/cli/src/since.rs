//! What has changed since a revision, and which files that can affect.

use std::collections::{HashMap, HashSet};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use drysheath_disk::{EXTENSION, SETTINGS};
use drysheath_office::{Library, Lookup};

use crate::git::Git;
use crate::repository::Repository;

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
    pub fn affects<'u>(&self, repository: &Repository, name: &str, uses: impl Iterator<Item = &'u str>) -> bool {
        self.of(&repository.root).affect(name, uses, repository)
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

    fn affect<'u>(&self, name: &str, uses: impl Iterator<Item = &'u str>, library: &dyn Library) -> bool {
        if self.has(name) {
            return true;
        }
        let mut open: Vec<Box<str>> = uses.map(Box::from).collect();
        let mut seen: HashSet<Box<str>> = HashSet::new();
        while let Some(used) = open.pop() {
            if self.has(&used) {
                return true;
            }
            if let Lookup::Found(file) = library.find(&used)
                && seen.insert(used)
            {
                open.extend(file.uses.iter().cloned());
            }
        }
        false
    }
}

fn folder(path: &Path) -> String {
    let mut path = slashed(path);
    if !path.is_empty() {
        path.push('/');
    }
    path
}

fn slashed(path: &Path) -> String {
    let parts: Vec<_> = path
        .components()
        .map(|part| part.as_os_str().to_string_lossy())
        .collect();
    parts.join("/")
}

#[cfg(test)]
mod tests {
    use drysheath_office::Shelf;
    use drysheath_text::FileId;

    use super::*;

    fn changes(changed: &[&str]) -> Changes {
        let changed: Vec<PathBuf> = changed.iter().map(PathBuf::from).collect();
        Changes::below(Path::new("/top/county"), &changed)
    }

    #[test]
    fn a_used_file_counts_for_all_that_use_it_by_whatever_way() {
        let shelf = Shelf::new([
            (FileId(0), "parts/near", "use parts/far\n"),
            (FileId(1), "parts/far", ""),
            (FileId(2), "parts/other", "use parts/other\n"),
        ]);
        let changes = changes(&["/top/county/parts/far.office", "/top/elsewhere/parts/other.office"]);
        assert!(changes.affect("offices/a", ["parts/near"].into_iter(), &shelf));
        assert!(!changes.affect("offices/b", ["parts/other", "parts/gone"].into_iter(), &shelf));
        assert!(changes.affect("parts/far", std::iter::empty(), &shelf));
    }

    #[test]
    fn a_file_that_is_gone_counts_for_its_users() {
        let changes = changes(&["/top/county/parts/gone.office"]);
        assert!(changes.affect("offices/b", ["parts/gone"].into_iter(), &Shelf::default()));
    }

    #[test]
    fn settings_count_for_all_below_them() {
        let changes = changes(&["/top/county/north/drysheath.toml"]);
        assert!(changes.affect("north/a", std::iter::empty(), &Shelf::default()));
        assert!(!changes.affect("northern/a", std::iter::empty(), &Shelf::default()));
        let all = Changes::below(Path::new("/top/county"), &[PathBuf::from("/top/county/drysheath.toml")]);
        assert!(all.affect("north/a", std::iter::empty(), &Shelf::default()));
    }
}
