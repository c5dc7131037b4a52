use std::collections::{HashSet, VecDeque};
use std::path::Path;
use std::sync::Arc;

use drysheath_text::FileId;
use drysheath_workspace::{Invalidated, Snapshot};

/// Files to be linted: open files first, then closed ones, then the rules across files.
#[derive(Default)]
pub(crate) struct Backlog {
    open: VecDeque<FileId>,
    closed: VecDeque<FileId>,
    /// Files still to be linted. Both queues may also contain files that are not any more.
    waiting: HashSet<FileId>,
    repositories: Vec<Arc<Path>>,
}

/// A unit of work done between two messages.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Work {
    File(FileId),
    Repository(Arc<Path>),
}

impl Backlog {
    /// Adds what a change has invalidated.
    pub fn add(&mut self, invalidated: &Invalidated, snapshot: &Snapshot) {
        for file in &invalidated.files {
            self.add_file(*file, snapshot.is_open(*file));
        }
        for root in &invalidated.repositories {
            if !self.repositories.contains(root) {
                self.repositories.push(Arc::clone(root));
            }
        }
    }

    fn add_file(&mut self, file: FileId, is_open: bool) {
        let is_new = self.waiting.insert(file);
        if is_open {
            if !self.open.contains(&file) {
                self.open.push_back(file);
            }
        } else if is_new {
            self.closed.push_back(file);
        }
    }

    /// Removes a file that need not be linted any more.
    pub fn remove(&mut self, file: FileId) {
        self.waiting.remove(&file);
    }

    /// Removes and returns the next piece of work.
    pub fn next(&mut self) -> Option<Work> {
        while let Some(file) = self.open.pop_front().or_else(|| self.closed.pop_front()) {
            if self.waiting.remove(&file) {
                return Some(Work::File(file));
            }
        }
        self.repositories.pop().map(Work::Repository)
    }

    pub fn is_empty(&self) -> bool {
        !self.has_files() && self.repositories.is_empty()
    }

    /// Whether any single files are to be linted.
    pub fn has_files(&self) -> bool {
        !self.waiting.is_empty()
    }

    /// Whether a file is still to be linted.
    pub fn contains(&self, file: FileId) -> bool {
        self.waiting.contains(&file)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const A: FileId = FileId(1);
    const B: FileId = FileId(2);
    const C: FileId = FileId(3);

    fn drain(backlog: &mut Backlog) -> Vec<Work> {
        std::iter::from_fn(|| backlog.next()).collect()
    }

    #[test]
    fn open_files_come_first_and_repositories_last() {
        let mut backlog = Backlog::default();
        let root: Arc<Path> = Path::new("/top").into();
        backlog.repositories.push(Arc::clone(&root));
        backlog.add_file(A, false);
        backlog.add_file(B, false);
        backlog.add_file(C, true);
        let order = [Work::File(C), Work::File(A), Work::File(B), Work::Repository(root)];
        assert_eq!(drain(&mut backlog), order);
        assert!(backlog.is_empty());
    }

    #[test]
    fn a_file_is_linted_once_however_often_it_was_dirtied() {
        let mut backlog = Backlog::default();
        for is_open in [false, true, true, false] {
            backlog.add_file(A, is_open);
        }
        assert!(backlog.contains(A));
        assert_eq!(drain(&mut backlog), [Work::File(A)]);
        backlog.add_file(A, false);
        assert_eq!(drain(&mut backlog), [Work::File(A)]);
    }

    #[test]
    fn a_file_that_was_taken_out_is_not_linted() {
        let mut backlog = Backlog::default();
        backlog.add_file(A, false);
        backlog.remove(A);
        assert!(backlog.is_empty());
        assert_eq!(drain(&mut backlog), []);
    }
}
