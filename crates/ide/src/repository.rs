use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_office::{EXTENSION, Library, Lookup, Summary};
use drysheath_rules::{Finding, Settings};
use drysheath_text::FileId;
use rustc_hash::FxHashMap;

use crate::disk::Disk;

/// A folder of offices that belong together.
pub(crate) struct Repository {
    pub root: PathBuf,
    pub settings: Arc<Settings>,
    /// What is wrong with the settings, as results about the settings' file.
    pub settings_findings: Vec<Finding>,
    /// What must be known of each of its files, in the order of their paths.
    pub summaries: Vec<Arc<Summary>>,
    /// Whether all of its files are known, so that what none of them has is nowhere.
    pub whole: bool,
    /// Whether a summary has changed since the rules that look at all files were asked.
    pub stale: bool,
    /// The results that only several files together give, by file.
    pub wide: FxHashMap<FileId, Vec<Finding>>,
}

impl Repository {
    pub fn new(root: PathBuf) -> Self {
        Self {
            root,
            settings: Arc::default(),
            settings_findings: Vec::new(),
            summaries: Vec::new(),
            whole: false,
            stale: false,
            wide: FxHashMap::default(),
        }
    }

    /// Puts a file's summary in its place. `path_of` tells the path of a file that is known.
    pub fn put(&mut self, summary: Summary, path_of: impl Fn(FileId) -> Arc<Path>) {
        let path = path_of(summary.file);
        match self.summaries.binary_search_by(|other| path_of(other.file).cmp(&path)) {
            Ok(at) => {
                if let Some(slot) = self.summaries.get_mut(at)
                    && **slot != summary
                {
                    *slot = Arc::new(summary);
                    self.stale = true;
                }
            }
            Err(at) => {
                self.summaries.insert(at, Arc::new(summary));
                self.stale = true;
            }
        }
    }

    /// Forgets a file.
    pub fn remove(&mut self, file: FileId) {
        let before = self.summaries.len();
        self.summaries.retain(|summary| summary.file != file);
        self.stale |= self.summaries.len() != before;
    }
}

/// The files of parts that one repository has, as an analysis asks for them.
pub(crate) struct Parts<'p> {
    pub root: &'p Path,
    pub find: &'p dyn Fn(&Path) -> Lookup,
    pub disk: &'p dyn Disk,
}

impl Library for Parts<'_> {
    fn find(&self, path: &str) -> Lookup {
        (self.find)(&self.root.join(path).with_extension(EXTENSION))
    }

    fn similar(&self, path: &str) -> Option<String> {
        self.disk.similar(self.root, path)
    }
}
