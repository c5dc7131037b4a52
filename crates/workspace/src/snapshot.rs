use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_office::{Date, SETTINGS};
use drysheath_text::FileId;
use rpds::{HashTrieMapSync, HashTrieSetSync};

use crate::across::CrossFileResults;
use crate::analysis_cache::AnalysisCache;
use crate::cancellation::Cancellation;
use crate::file_table::FileTable;
use crate::repository::{Repositories, Repository};
use crate::results::FileResults;
use crate::source::FileSource;
use crate::version::{FileVersion, RecentNeighbours};

/// Known data of a file besides its path.
#[derive(Clone)]
pub(crate) struct FileState {
    pub version: Arc<FileVersion>,
    /// Latest results of the file, possibly outdated.
    pub results: Option<Arc<FileResults>>,
    /// Incremented whenever its results change.
    pub revision: u64,
}

/// A workspace at one moment. It is immutable, cheap to clone, and usable from any thread. Files that are not open are
/// read from the source on demand.
#[derive(Clone)]
pub struct Snapshot {
    pub(crate) source: Arc<dyn FileSource>,
    pub(crate) today: Date,
    pub(crate) table: Arc<FileTable>,
    pub(crate) repositories: Arc<Repositories>,
    /// Folders below which all files are known, each also with links resolved.
    pub(crate) whole: Arc<[(PathBuf, Option<PathBuf>)]>,
    /// The files that were opened, found or changed.
    pub(crate) files: HashTrieMapSync<FileId, FileState>,
    /// For each file of parts, the files whose results name it.
    pub(crate) users: HashTrieMapSync<FileId, HashTrieSetSync<FileId>>,
    /// The files that declare parts, according to their results.
    pub(crate) declare_parts: HashTrieSetSync<FileId>,
    /// The latest results across files, by root of the repository.
    pub(crate) across: HashTrieMapSync<Arc<Path>, Arc<CrossFileResults>>,
    pub(crate) cache: Arc<AnalysisCache>,
    pub(crate) recent: Arc<RecentNeighbours>,
    pub(crate) cancellation: Cancellation,
}

impl Snapshot {
    /// The same state, for an answer that may be cancelled.
    #[must_use]
    pub fn until(mut self, cancellation: Cancellation) -> Self {
        self.cancellation = cancellation;
        self
    }

    /// Whether the answer being computed has been cancelled; the computation may then stop anywhere.
    pub fn is_cancelled(&self) -> bool {
        self.cancellation.is_cancelled()
    }

    /// The permanent id of a file, which need not exist.
    pub fn file(&self, path: &Path) -> FileId {
        self.table.file(path)
    }

    /// The id of a file, if it has one.
    pub fn known(&self, path: &Path) -> Option<FileId> {
        self.table.known(path)
    }

    /// Path of a file as given.
    pub fn path(&self, file: FileId) -> Option<Arc<Path>> {
        self.table.path(file)
    }

    /// All files with ids, existing or not.
    pub fn numbered(&self) -> impl Iterator<Item = FileId> + use<> {
        self.table.files()
    }

    /// The files known to exist, sorted by id.
    pub fn files(&self) -> Vec<FileId> {
        let is_there = |state: &FileState| {
            let results = state.results.as_ref();
            state.version.buffer.is_some() || results.is_some_and(|results| results.summary.is_some())
        };
        let there = self.files.iter().filter(|(_, state)| is_there(state));
        let mut files: Vec<FileId> = there.map(|(file, _)| *file).collect();
        let repositories = self.repositories.all();
        files.extend(repositories.iter().filter_map(|repository| repository.settings_file));
        files.sort_unstable();
        files.dedup();
        files
    }

    /// The folders that the user named, or that an editor works in.
    pub fn folders(&self) -> &[PathBuf] {
        self.repositories.folders()
    }

    /// Whether a file is open in an editor.
    pub fn is_open(&self, file: FileId) -> bool {
        self.files
            .get(&file)
            .is_some_and(|state| state.version.buffer.is_some())
    }

    /// The editor's version number of a file.
    pub fn version(&self, file: FileId) -> Option<i32> {
        self.files.get(&file)?.version.buffer.as_ref()?.version
    }

    /// A number that increases whenever the results of a file change.
    pub fn revision(&self, file: FileId) -> u64 {
        self.files.get(&file).map_or(0, |state| state.revision)
    }

    /// The date used for acceptances.
    pub fn today(&self) -> Date {
        self.today
    }

    /// The repository of a file.
    pub fn repository(&self, file: FileId) -> Arc<Repository> {
        let path = self.path(file);
        let folder = path.as_deref().and_then(Path::parent).unwrap_or(Path::new(""));
        self.repository_in(folder)
    }

    /// The repository of the files in a folder.
    pub fn repository_in(&self, folder: &Path) -> Arc<Repository> {
        self.repositories.of_folder(folder, self)
    }

    /// The repositories opened so far, sorted by folder.
    pub fn repositories(&self) -> Vec<Arc<Repository>> {
        self.repositories.all()
    }

    /// Path of a file from the root of its repository without extension, as in a `use`.
    pub fn name(&self, file: FileId) -> String {
        let path = self.path(file);
        path.map_or_else(String::new, |path| self.repository(file).name_of(&path, self))
    }

    pub(crate) fn is_settings(&self, file: FileId) -> bool {
        let path = self.path(file);
        path.is_some_and(|path| path.file_name().is_some_and(|name| name == SETTINGS))
    }

    pub(crate) fn file_version(&self, file: FileId) -> Arc<FileVersion> {
        match self.files.get(&file) {
            Some(state) => Arc::clone(&state.version),
            None => self.table.first(file),
        }
    }

    pub(crate) fn state(&self, file: FileId) -> FileState {
        let known = self.files.get(&file).cloned();
        known.unwrap_or_else(|| FileState {
            version: self.table.first(file),
            results: None,
            revision: 0,
        })
    }
}
