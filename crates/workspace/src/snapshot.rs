use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_office::{Date, SETTINGS};
use drysheath_text::FileId;
use rpds::{HashTrieMapSync, HashTrieSetSync};

use crate::across::Across;
use crate::analysis_cache::AnalysisCache;
use crate::cancellation::Cancellation;
use crate::file_table::FileTable;
use crate::repository::{Repositories, Repository};
use crate::results::FileResults;
use crate::source::FileSource;
use crate::version::{FileVersion, RecentNeighbours};

/// What is known of a file beyond its path.
#[derive(Clone)]
pub(crate) struct FileState {
    pub version: Arc<FileVersion>,
    /// Its results as they were last made, which may be of an older version.
    pub results: Option<Arc<FileResults>>,
    /// Goes up whenever its results change.
    pub revision: u64,
}

/// A workspace at one moment. It never changes, is cheap to clone, and can be asked from any thread. Files that are
/// not open are read from the source when they are needed.
#[derive(Clone)]
pub struct Snapshot {
    pub(crate) source: Arc<dyn FileSource>,
    pub(crate) today: Date,
    pub(crate) table: Arc<FileTable>,
    pub(crate) repositories: Arc<Repositories>,
    /// Folders below which all files are known, each also as it is once all links are followed.
    pub(crate) whole: Arc<[(PathBuf, Option<PathBuf>)]>,
    /// The files that were opened, found or changed.
    pub(crate) files: HashTrieMapSync<FileId, FileState>,
    /// Of each file of parts those whose results say that they name it.
    pub(crate) users: HashTrieMapSync<FileId, HashTrieSetSync<FileId>>,
    /// The files that declare parts, as their results say.
    pub(crate) declare_parts: HashTrieSetSync<FileId>,
    /// The results across files as they were last made, by the roots of repositories.
    pub(crate) across: HashTrieMapSync<Arc<Path>, Arc<Across>>,
    pub(crate) cache: Arc<AnalysisCache>,
    pub(crate) recent: Arc<RecentNeighbours>,
    pub(crate) cancellation: Cancellation,
}

impl Snapshot {
    /// The same state, for an answer that may be given up.
    #[must_use]
    pub fn until(mut self, cancellation: Cancellation) -> Self {
        self.cancellation = cancellation;
        self
    }

    /// Whether the answer that is computed from it has been cancelled; the computation may stop anywhere.
    pub fn is_cancelled(&self) -> bool {
        self.cancellation.is_cancelled()
    }

    /// The number of a file, which never changes. The file need not exist.
    pub fn file(&self, path: &Path) -> FileId {
        self.table.file(path)
    }

    /// The number of a file that has been asked for before.
    pub fn known(&self, path: &Path) -> Option<FileId> {
        self.table.known(path)
    }

    /// The path of a file as it was given.
    pub fn path(&self, file: FileId) -> Option<Arc<Path>> {
        self.table.path(file)
    }

    /// All files that have numbers, whether they are there or not.
    pub fn numbered(&self) -> impl Iterator<Item = FileId> + use<> {
        self.table.files()
    }

    /// The files that are known to be there, in the order of their numbers.
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

    /// Whether an editor has a file open.
    pub fn is_open(&self, file: FileId) -> bool {
        self.files
            .get(&file)
            .is_some_and(|state| state.version.buffer.is_some())
    }

    /// The editor's version of a file.
    pub fn version(&self, file: FileId) -> Option<i32> {
        self.files.get(&file)?.version.buffer.as_ref()?.version
    }

    /// A number that goes up whenever the results of a file change.
    pub fn revision(&self, file: FileId) -> u64 {
        self.files.get(&file).map_or(0, |state| state.revision)
    }

    /// The day that acceptances are judged by.
    pub fn today(&self) -> Date {
        self.today
    }

    /// The repository that a file belongs to.
    pub fn repository(&self, file: FileId) -> Arc<Repository> {
        let path = self.path(file);
        let folder = path.as_deref().and_then(Path::parent).unwrap_or(Path::new(""));
        self.repository_in(folder)
    }

    /// The repository that files in a folder belong to.
    pub fn repository_in(&self, folder: &Path) -> Arc<Repository> {
        self.repositories.of_folder(folder, self)
    }

    /// The repositories that were asked for so far, in the order of their folders.
    pub fn repositories(&self) -> Vec<Arc<Repository>> {
        self.repositories.all()
    }

    /// A file's path from the root of its repository, without its extension, as a `use` would name it.
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
