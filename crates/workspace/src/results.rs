use std::hash::BuildHasher;
use std::sync::Arc;

use drysheath_office::{Office, Summary};
use drysheath_rules::{Finding, is_wide};
use drysheath_text::{FileId, Place, TextRange};
use rustc_hash::FxBuildHasher;

use crate::analysis::{LoweredFile, MadeFrom};
use crate::repository::Repository;
use crate::snapshot::{FileState, Snapshot};
use crate::symbols::Symbols;

/// Data kept for every file: its results, and what other files need of it.
#[derive(Debug)]
pub struct FileResults {
    /// The file of the results.
    pub file: FileId,
    /// Results of its own rules.
    pub findings: Vec<Finding>,
    /// Summary of the file for other files. `None` if it does not exist or cannot be read.
    pub summary: Option<Arc<Summary>>,
    /// A message if it exists but cannot be read.
    pub unreadable: Option<String>,
    /// The names that it declares.
    pub symbols: Arc<Symbols>,
    /// The editor's version number of the text that the results are for.
    pub version: Option<i32>,
    /// Repository that contains the file.
    pub repository: Arc<Repository>,
    /// The files that it names by `use`, whether they exist or not.
    pub(crate) uses: Vec<FileId>,
    /// Hash of its text. If it differs, line starts may have moved although every result has the same bytes.
    pub(crate) text: u64,
    pub(crate) made_from: MadeFrom,
}

fn hash(text: &str) -> u64 {
    FxBuildHasher.hash_one(text)
}

impl FileResults {
    /// The files that its results depend on besides its own: those that it names, and those that it was made from,
    /// since a file in between may be in no folder and have no results.
    pub(crate) fn depends_on(&self) -> Vec<FileId> {
        let read = self.made_from.iter().map(|(read, _)| *read);
        let mut all: Vec<FileId> = self
            .uses
            .iter()
            .copied()
            .chain(read)
            .filter(|other| *other != self.file)
            .collect();
        all.sort_unstable();
        all.dedup();
        all
    }
}

impl Snapshot {
    /// Recomputes what is kept of a file.
    pub fn lint(&self, file: FileId) -> FileResults {
        // The analysis of an open file is needed again soon.
        let analysis = if self.is_open(file) {
            self.analysis(file)
        } else {
            self.kept_analysis(file)
        };
        if let Some(analysis) = analysis.filter(|analysis| analysis.problem.is_none()) {
            return FileResults {
                file,
                findings: analysis.findings().to_vec(),
                summary: Some(Arc::new(Summary::of(&analysis.office, is_wide))),
                unreadable: None,
                symbols: Arc::new(Symbols::of(&analysis.office, &analysis.tree)),
                version: analysis.version,
                uses: self.uses(&analysis.repository, &analysis.office),
                text: hash(&analysis.text),
                repository: Arc::clone(&analysis.repository),
                made_from: analysis.made_from.clone(),
            };
        }
        match self.read(file) {
            Ok(Some(lowered)) => self.results_of(lowered),
            nothing => FileResults {
                file,
                findings: Vec::new(),
                summary: None,
                unreadable: nothing.err(),
                symbols: Arc::default(),
                version: None,
                repository: self.repository(file),
                uses: Vec::new(),
                text: hash(""),
                made_from: vec![(file, self.file_version(file))],
            },
        }
    }

    fn results_of(&self, lowered: LoweredFile) -> FileResults {
        let (symbols, uses) = match lowered.problem {
            // Its content is not reliable.
            Some(_) => (Symbols::default(), Vec::new()),
            None => (
                Symbols::of(&lowered.office, &lowered.tree),
                self.uses(&lowered.repository, &lowered.office),
            ),
        };
        FileResults {
            file: lowered.file,
            findings: lowered.findings(),
            summary: Some(Arc::new(lowered.summary())),
            unreadable: None,
            symbols: Arc::new(symbols),
            version: lowered.version,
            repository: lowered.repository,
            uses,
            text: hash(&lowered.text),
            made_from: lowered.made_from,
        }
    }

    fn uses(&self, repository: &Repository, office: &Office) -> Vec<FileId> {
        let files = office.files_named();
        files.map(|name| self.file_used(repository, name)).collect()
    }

    /// Whether there are results of a file, possibly outdated.
    pub fn has_results(&self, file: FileId) -> bool {
        self.files.get(&file).is_some_and(|state| state.results.is_some())
    }

    /// Whether the results of a file were made from its inputs in this state.
    pub fn is_fresh(&self, file: FileId) -> bool {
        let results = self.files.get(&file).and_then(|state| state.results.as_ref());
        results.is_some_and(|results| self.holds(&results.repository, &results.made_from))
    }

    /// The latest results of a file, in the order of the command's output.
    pub fn findings(&self, file: FileId) -> Vec<Finding> {
        let results = self.files.get(&file).and_then(|state| state.results.as_ref());
        let mut findings = results.map(|results| results.findings.clone()).unwrap_or_default();
        let repository = self.repository(file);
        let across = self.across.get(&repository.root).and_then(|across| across.get(&file));
        findings.extend(across.into_iter().flatten().cloned());
        if repository.settings_file == Some(file) {
            findings.extend(repository.findings.iter().cloned());
        }
        findings.sort_by(|one, other| {
            (one.place, one.rule.name(), &one.message).cmp(&(other.place, other.rule.name(), &other.message))
        });
        findings
    }

    /// The places where a file names a part, given its name and the place of its declaration. `None` if that is not
    /// known without reading the file.
    pub fn places_of_part(&self, file: FileId, name: &str, part: Place) -> Option<Vec<TextRange>> {
        let results = self.files.get(&file)?.results.as_ref()?;
        let is_fresh = self.holds(&results.repository, &results.made_from);
        results.symbols.places_of(name, part).filter(|_| is_fresh)
    }

    /// The names that each file declares. Those of open files come from their present texts.
    pub fn symbols(&self) -> Vec<(FileId, Arc<Symbols>)> {
        let of = |(file, state): (&FileId, &FileState)| {
            if state.version.buffer.is_some() && !self.is_fresh(*file) && !self.is_settings(*file) {
                let analysis = self.analysis(*file)?;
                return Some((*file, Arc::new(Symbols::of(&analysis.office, &analysis.tree))));
            }
            Some((*file, Arc::clone(&state.results.as_ref()?.symbols)))
        };
        let mut symbols: Vec<_> = self.files.iter().filter_map(of).collect();
        symbols.sort_unstable_by_key(|(file, _)| *file);
        symbols
    }
}
