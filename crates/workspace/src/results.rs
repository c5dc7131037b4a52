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

/// What is kept of every file: its results and the little that other files need of it.
#[derive(Debug)]
pub struct FileResults {
    /// The file that the results are about.
    pub file: FileId,
    /// The results of its own rules.
    pub findings: Vec<Finding>,
    /// What other files must know of it. None if there is no such file or it cannot be read.
    pub summary: Option<Arc<Summary>>,
    /// Why it is there and cannot be read, in words.
    pub unreadable: Option<String>,
    /// The names that it declares.
    pub symbols: Arc<Symbols>,
    /// The editor's version of the text that the results are about.
    pub version: Option<i32>,
    /// The repository that it belongs to.
    pub repository: Arc<Repository>,
    /// The files that it names by `use`, whether they are there or not.
    pub(crate) uses: Vec<FileId>,
    /// A hash of its text. Where it differs, lines may start elsewhere although every result has the same bytes.
    pub(crate) text: u64,
    pub(crate) made_from: MadeFrom,
}

fn hash(text: &str) -> u64 {
    FxBuildHasher.hash_one(text)
}

impl FileResults {
    /// The files on which its results depend besides its own: those that it names, and those that it was made from, since a file
    /// between may be in no folder and have no results.
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
    /// Computes again what is kept of a file.
    pub fn lint(&self, file: FileId) -> FileResults {
        // What an editor shows is asked for again soon.
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
            // Nothing in it can be relied upon.
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

    /// Whether results of a file are there, be they of an older version.
    pub fn has_results(&self, file: FileId) -> bool {
        self.files.get(&file).is_some_and(|state| state.results.is_some())
    }

    /// Whether the results of a file were made from the inputs of this state.
    pub fn is_fresh(&self, file: FileId) -> bool {
        let results = self.files.get(&file).and_then(|state| state.results.as_ref());
        results.is_some_and(|results| self.holds(&results.repository, &results.made_from))
    }

    /// The results of a file as they were last made, in the order in which the command gives them.
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

    /// The places at which a file names a part, given the part's name and where that is declared. None where that is not known
    /// without reading the file.
    pub fn places_of_part(&self, file: FileId, name: &str, part: Place) -> Option<Vec<TextRange>> {
        let results = self.files.get(&file)?.results.as_ref()?;
        let is_fresh = self.holds(&results.repository, &results.made_from);
        results.symbols.places_of(name, part).filter(|_| is_fresh)
    }

    /// The names that each file declares. Those of open files are read from their present texts.
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
