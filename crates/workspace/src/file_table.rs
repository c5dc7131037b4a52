use std::path::Path;
use std::sync::{Arc, OnceLock, PoisonError, RwLock};

use drysheath_text::FileId;
use rustc_hash::FxHashMap;

use crate::version::FileVersion;

/// Numbers for paths. Paths are only added, so that every state of a workspace can use the same table and a number means the
/// same file for ever.
#[derive(Debug, Default)]
pub(crate) struct FileTable {
    by_path: RwLock<FxHashMap<Arc<Path>, FileId>>,
    /// Shared with the tables of other states of the same files.
    entries: Arc<RwLock<Vec<Entry>>>,
}

#[derive(Debug)]
struct Entry {
    path: Arc<Path>,
    /// The version that holds while nobody says that the file has changed; made when it is first asked for.
    first: OnceLock<Arc<FileVersion>>,
}

impl FileTable {
    /// The number of a path.
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
        entries.push(Entry {
            path: Arc::clone(&path),
            first: OnceLock::new(),
        });
        by_path.insert(path, file);
        file
    }

    /// The number of a path that has one.
    pub fn known(&self, path: &Path) -> Option<FileId> {
        let by_path = self.by_path.read().unwrap_or_else(PoisonError::into_inner);
        by_path.get(path).copied()
    }

    pub fn path(&self, file: FileId) -> Option<Arc<Path>> {
        let entries = self.entries.read().unwrap_or_else(PoisonError::into_inner);
        entries.get(file.0 as usize).map(|entry| Arc::clone(&entry.path))
    }

    /// The version of a file of which no change is known.
    pub fn first(&self, file: FileId) -> Arc<FileVersion> {
        let entries = self.entries.read().unwrap_or_else(PoisonError::into_inner);
        let first = entries
            .get(file.0 as usize)
            .map(|entry| entry.first.get_or_init(Arc::default));
        first.cloned().unwrap_or_default()
    }

    /// A table for another state of the same files. Those at the paths of `same` have the same numbers in both.
    pub fn beside<'p>(&self, same: impl Iterator<Item = &'p Path>) -> Self {
        let by_path = same.map(|path| {
            let file = self.file(path);
            (self.path(file).unwrap_or_else(|| path.into()), file)
        });
        Self {
            by_path: RwLock::new(by_path.collect()),
            entries: Arc::clone(&self.entries),
        }
    }
}
