//! The two states to compare, and which of their files are the same.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_office::{Date, EXTENSION, SETTINGS};
use drysheath_text::FileId;
use drysheath_workspace::{Memory, Snapshot, Texts, Workspace, slashed};
use rustc_hash::{FxHashMap, FxHashSet};

/// One state of the files. Paths are relative to the top, with `/`.
#[derive(Clone, Debug, Default)]
pub struct Version {
    /// Name as the user gave it.
    pub called: String,
    /// Commit hash, if it is a revision.
    pub commit: Option<String>,
    /// Contents of the files.
    pub files: Memory,
}

/// An office or a file of parts in the two states. If it is the same in both, the ids are equal.
#[derive(Clone, Debug)]
pub(super) struct PathFiles {
    pub path: String,
    pub base: Option<FileId>,
    pub head: Option<FileId>,
}

impl PathFiles {
    /// Id of the file, if it is the same in both states.
    pub fn in_both(&self) -> Option<FileId> {
        self.base.filter(|_| self.base == self.head)
    }
}

/// The base and the head, as snapshots.
pub(super) struct States {
    pub base: Snapshot,
    pub head: Snapshot,
    /// The offices and files of parts of both states, by path.
    pub entries: Vec<PathFiles>,
    /// Texts of all files of both states.
    pub texts: Texts,
}

impl States {
    pub fn new(base: Memory, head: Memory, today: Date) -> Self {
        let (before, after) = (Arc::new(base), Arc::new(head));
        let mut base = Workspace::new(before.clone(), today);
        let mut head = base.beside(after.clone());
        let entries = entries(&before, &after, &base, &mut head);
        for workspace in [&mut base, &mut head] {
            let top = PathBuf::new();
            workspace.set_folders(vec![top.clone()]);
            workspace.found(&[top], []);
        }
        let (base, head) = (base.snapshot(), head.snapshot());
        open_repositories(&before, &base);
        open_repositories(&after, &head);
        let none = FxHashMap::default();
        let numbers = |files: &Memory, snapshot: &Snapshot| -> Vec<FileId> {
            files.files().map(|(path, _)| snapshot.file(Path::new(path))).collect()
        };
        let was = numbers(&before, &base);
        let known: FxHashSet<FileId> = was.iter().copied().collect();
        let mut now = numbers(&after, &head);
        // Files that are the same in both have the same id.
        now.retain(|file| !known.contains(file));
        let texts = base.texts(was, &none).and(head.texts(now, &none));
        Self {
            base,
            head,
            entries,
            texts,
        }
    }
}

impl States {
    /// Whether all settings files are the same in both states, so that unchanged files have unchanged settings.
    pub fn have_same_settings(&self) -> bool {
        let settings = |state: &Snapshot| -> Vec<_> {
            let repositories = state.repositories().into_iter();
            repositories
                .map(|of| (Arc::clone(&of.root), Arc::clone(&of.folder), of.settings_file))
                .collect()
        };
        settings(&self.base) == settings(&self.head)
    }

    /// Why nothing can be compared: messages for repositories in a language that is newer than this program.
    pub fn too_new(&self) -> Vec<String> {
        let repositories = [&self.base, &self.head].map(Snapshot::repositories);
        let too_new = repositories.iter().flatten().filter(|repository| repository.is_too_new);
        let mut why: Vec<String> = too_new.filter_map(|repository| repository.unreadable.clone()).collect();
        why.sort();
        why.dedup();
        why
    }
}

/// Assigns ids to all files, in the order of their paths.
fn entries(before: &Memory, after: &Memory, base: &Workspace, head: &mut Workspace) -> Vec<PathFiles> {
    let paths = before.files().chain(after.files()).map(|(path, _)| path);
    let paths: BTreeSet<&str> = paths.collect();
    let mut entries = Vec::new();
    for path in paths {
        let contents = (before.get(path), after.get(path));
        let number = |workspace: &Workspace| workspace.now().file(Path::new(path));
        let was = contents.0.map(|_| number(base));
        if let Some(was) = was.filter(|_| contents.0 == contents.1) {
            head.adopt(was);
        }
        let now = contents.1.map(|_| number(head));
        if Path::new(path)
            .extension()
            .is_some_and(|extension| extension == EXTENSION)
        {
            entries.push(PathFiles {
                path: path.to_owned(),
                base: was,
                head: now,
            });
        }
    }
    entries
}

/// Opens all repositories of a state, including those without offices.
fn open_repositories(files: &Memory, snapshot: &Snapshot) {
    snapshot.repository_in(Path::new(""));
    for path in files.files().map(|(path, _)| Path::new(path)) {
        if path.file_name().is_some_and(|name| name == SETTINGS) {
            snapshot.repository_in(path.parent().unwrap_or(Path::new("")));
        }
    }
}

/// Path of a folder with a final `/`; empty for the top.
pub(super) fn folder(path: &Path) -> String {
    let path = slashed(path);
    if path.is_empty() {
        String::new()
    } else {
        format!("{path}/")
    }
}
