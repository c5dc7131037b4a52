use std::path::Path;
use std::sync::Arc;

use drysheath_office::Summary;
use drysheath_rules::{Finding, RepositoryInspection as Summaries, Settings, lint_repository};
use drysheath_text::FileId;
use rustc_hash::FxHashMap;

use crate::repository::{Repository, slashed};
use crate::snapshot::Snapshot;

/// Results of the rules across files, by file.
pub(crate) type CrossFileResults = FxHashMap<FileId, Vec<Finding>>;

impl Snapshot {
    /// Computes the results of the rules across files: `summaries` are those of all files of `repository`, in any
    /// order.
    pub fn lint_across(&self, repository: &Repository, summaries: &mut [Arc<Summary>]) -> Vec<Finding> {
        // Sort, so that the order of two conflicting files does not depend on which was read first.
        summaries.sort_by_cached_key(|summary| self.path(summary.file).map(|path| slashed(&path)));
        let all = Summaries {
            summaries,
            settings: &repository.settings,
            settings_below: &self.settings_below(repository, summaries),
            whole: self.is_whole(&repository.root),
        };
        lint_repository(&all, self.today)
    }

    /// The settings of files in folders that have settings of their own.
    fn settings_below(&self, repository: &Repository, summaries: &[Arc<Summary>]) -> FxHashMap<FileId, Arc<Settings>> {
        let repositories = self.repositories();
        if !repositories
            .iter()
            .any(|other| other.above.is_some() && other.root == repository.root)
        {
            return FxHashMap::default();
        }
        let files = summaries.iter().map(|summary| summary.file);
        let settings = files.map(|file| (file, Arc::clone(&self.repository(file).settings)));
        settings
            .filter(|(_, settings)| !Arc::ptr_eq(settings, &repository.settings))
            .collect()
    }

    /// The summaries of the files of a repository known so far, in any order.
    fn members(&self, root: &Path) -> Vec<Arc<Summary>> {
        let results = self.files.values().filter_map(|state| state.results.as_ref());
        let own = results.filter(|results| *results.repository.root == *root);
        let own = own.filter(|results| *self.repository(results.file).root == *root);
        own.filter_map(|results| results.summary.clone()).collect()
    }

    /// Recomputes the results across the files of the repository at `root`.
    pub fn lint_repository(&self, root: &Path) -> Vec<Finding> {
        let mut members = self.members(root);
        let repository = self.repository_in(root);
        if *repository.root != *root {
            return Vec::new();
        }
        self.lint_across(&repository, &mut members)
    }

    /// Whether all files of a repository are known, so that a name in none of them does not exist.
    pub fn is_whole(&self, root: &Path) -> bool {
        let real_root = self.source.real_path(root);
        real_root.is_some_and(|root| {
            let mut folders = self.whole.iter().filter_map(|(_, real)| real.as_ref());
            folders.any(|folder| root.starts_with(folder))
        })
    }
}
