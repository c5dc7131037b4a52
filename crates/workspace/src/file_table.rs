use std::path::Path;
use std::sync::{Arc, OnceLock, PoisonError, RwLock};

use drysheath_text::FileId;
use rustc_hash::FxHashMap;

use crate::version::FileVersion;

/// Ids for paths. Paths are only added, so all states of a workspace can share a table, and an id means the same file
/// in all of them.
#[derive(Debug, Default)]
pub(crate) struct FileTable {
    by_path: RwLock<FxHashMap<Arc<Path>, FileId>>,
    /// Shared with the tables of other states of the same files.
    entries: Arc<RwLock<Vec<FileEntry>>>,
}

#[derive(Debug)]
struct FileEntry {
    path: Arc<Path>,
    /// The version until the first reported change; created on first use.
    first: OnceLock<Arc<FileVersion>>,
}

impl FileTable {
    /// The id of a path, assigned if necessary.
    pub fn file(&self, path: &Path) -> FileId {
        if let Some(file) = self.known(path) {
            return file;
        }
        let mut by_path = self.by_path.write().unwrap_or_else(PoisonError::into_inner);
        if let Some(file) = by_path.get(path) {
            return *file;
        }
        let path: Arc<Path> = path.into();
        let mut entries = self.entries.write().unwrap_or_else(PoisonError::into_inner);
        let file = FileId(entries.len() as u32);
        entries.push(FileEntry {
            path: Arc::clone(&path),
            first: OnceLock::new(),
        });
        by_path.insert(path, file);
        file
    }

    /// The id of a path, if it has one.
    pub fn known(&self, path: &Path) -> Option<FileId> {
        let by_path = self.by_path.read().unwrap_or_else(PoisonError::into_inner);
        by_path.get(path).copied()
    }

    pub fn path(&self, file: FileId) -> Option<Arc<Path>> {
        let entries = self.entries.read().unwrap_or_else(PoisonError::into_inner);
        entries.get(file.0 as usize).map(|entry| Arc::clone(&entry.path))
    }

    /// The version of a file without any reported change.
    pub fn first(&self, file: FileId) -> Arc<FileVersion> {
        let entries = self.entries.read().unwrap_or_else(PoisonError::into_inner);
        let first = entries
            .get(file.0 as usize)
            .map(|entry| entry.first.get_or_init(Arc::default));
        first.cloned().unwrap_or_default()
    }

    /// A table for another state of the same files: it assigns different ids, unless `adopt` declares a file to be the
    /// same.
    pub fn beside(&self) -> Self {
        Self {
            by_path: RwLock::default(),
            entries: Arc::clone(&self.entries),
        }
    }

    /// Gives a path the same id as in the table beside.
    pub fn adopt(&self, file: FileId) {
        if let Some(path) = self.path(file) {
            let mut by_path = self.by_path.write().unwrap_or_else(PoisonError::into_inner);
            by_path.insert(path, file);
        }
    }

    /// All ids, including those of tables beside.
    pub fn files(&self) -> impl Iterator<Item = FileId> + use<> {
        let entries = self.entries.read().unwrap_or_else(PoisonError::into_inner);
        (0..entries.len() as u32).map(FileId)
    }
}
