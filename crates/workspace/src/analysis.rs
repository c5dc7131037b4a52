use std::path::Path;
use std::sync::{Arc, Mutex, OnceLock};

use drysheath_office::{Date, Networks, Office, Summary};
use drysheath_prediction::Prediction;
use drysheath_rules::{Coverage, Finding, Inspection, Settings, inspect, is_wide, judge_all, of_problem};
use drysheath_syntax::{Problem, Tree};
use drysheath_text::{Edit, FileId, LineIndex};
use rustc_hash::FxHashMap;

use crate::digest::Digest;
use crate::repository::Repository;
use crate::source::Content;
use crate::version::FileVersion;

/// The versions of the files that something was made from, without duplicates.
pub(crate) type MadeFrom = Vec<(FileId, Arc<FileVersion>)>;

/// The results of a text after trial edits, by edits.
pub(crate) type TrialResults = FxHashMap<Box<[Edit]>, Arc<[Finding]>>;

/// A file whose bytes have been read but not interpreted.
#[derive(Clone)]
pub struct ReadFile {
    /// The file that was read.
    pub file: FileId,
    /// Path as the user gave it.
    pub path: Arc<Path>,
    /// Path from the repository's root without extension, as in a `use`.
    pub name: Box<str>,
    /// Repository that contains the file.
    pub repository: Arc<Repository>,
    /// The editor's version number. `None` for a text from the source.
    pub version: Option<i32>,
    /// Content that was read.
    pub content: Content,
}

/// A file that was looked up while another was lowered.
#[derive(Clone, Debug)]
pub struct Used {
    /// The name in the lookup.
    pub name: Box<str>,
    /// Id of the file, whether it exists or not.
    pub file: FileId,
    /// What was found. `None` if that depends on more than the file's bytes.
    pub given: Option<ProvidedContent>,
}

/// What a file provides to those that use it, in terms of its bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProvidedContent {
    /// Whatever follows from a text with this digest.
    Text(Digest),
    /// The file does not exist.
    Nothing,
}

/// A parsed and lowered file, before any computation.
pub struct LoweredFile {
    /// The file that was lowered.
    pub file: FileId,
    /// Path as the user gave it.
    pub path: Arc<Path>,
    /// Path from the repository's root without extension, as in a `use`.
    pub name: Box<str>,
    /// The editor's version number. `None` for a text from the source.
    pub version: Option<i32>,
    /// The text that tree and office were built from.
    pub text: Arc<str>,
    /// A problem of its bytes. The text ends before it, and its content is not reliable.
    pub problem: Option<Problem>,
    /// Syntax tree of the text.
    pub tree: Arc<Tree>,
    /// The office that the file describes.
    pub office: Office,
    /// Repository that contains the file.
    pub repository: Arc<Repository>,
    /// The files that were looked up, by every name. `None` if folders were listed as well: then the list is not
    /// complete.
    pub used: Option<Vec<Used>>,
    pub(crate) made_from: MadeFrom,
    pub(crate) today: Date,
}

impl LoweredFile {
    /// Results of the file's own rules, without those across files.
    pub fn findings(&self) -> Vec<Finding> {
        self.judged().0
    }

    /// Results of the file's own rules, and the coverage of the checks.
    pub fn judged(&self) -> (Vec<Finding>, Coverage) {
        Self::all_judged(std::slice::from_ref(self)).pop().unwrap_or_default()
    }

    /// The results of several files at once, which is faster than one by one.
    pub fn all_judged(files: &[Self]) -> Vec<(Vec<Finding>, Coverage)> {
        let Some(today) = files.first().map(|file| file.today) else {
            return Vec::new();
        };
        let is_read = |file: &&Self| file.problem.is_none();
        let read = files.iter().filter(is_read);
        let offices: Vec<_> = read.map(|file| (&file.office, &*file.repository.settings)).collect();
        let mut judged = judge_all(&offices, today).into_iter();
        let of = |file: &Self| match &file.problem {
            Some(problem) => {
                let finding = of_problem(problem, file.file, &file.repository.settings);
                (finding.into_iter().collect(), Coverage::default())
            }
            None => judged.next().unwrap_or_default(),
        };
        files.iter().map(of).collect()
    }

    /// Summary for other files. Empty if the file's bytes are invalid.
    pub fn summary(&self) -> Summary {
        match self.problem {
            Some(_) => Summary {
                file: self.file,
                unsure: true,
                ..Summary::default()
            },
            None => Summary::of(&self.office, is_wide),
        }
    }

    /// Computes its networks and predictions.
    pub fn analyse(self) -> Analysis {
        let present = self.office.present();
        let computed = present.as_ref().unwrap_or(&self.office);
        let networks = Networks::new(computed);
        let prediction = Prediction::new(computed, &networks);
        Analysis {
            present,
            lines: LineIndex::new(&self.text),
            file: self.file,
            path: self.path,
            name: self.name,
            version: self.version,
            text: self.text,
            problem: self.problem,
            tree: self.tree,
            office: self.office,
            networks,
            prediction,
            settings: Arc::clone(&self.repository.settings),
            repository: self.repository,
            findings: OnceLock::new(),
            tried: Mutex::default(),
            made_from: self.made_from,
            today: self.today,
        }
    }
}

/// A file at one moment with everything derived from it. Immutable, apart from caches.
pub struct Analysis {
    /// The file that was analysed.
    pub file: FileId,
    /// Path as the user gave it.
    pub path: Arc<Path>,
    /// Path from the repository's root without extension, as in a `use`.
    pub name: Box<str>,
    /// The editor's version number. `None` for a text from the source.
    pub version: Option<i32>,
    /// The text that everything else was derived from.
    pub text: Arc<str>,
    /// Line index of the text.
    pub lines: LineIndex,
    /// A problem of its bytes. The text ends before it, and its content is not reliable.
    pub problem: Option<Problem>,
    /// Syntax tree of the text.
    pub tree: Arc<Tree>,
    /// The office that the file describes.
    pub office: Office,
    /// The office without things excluded because of their stage. `None` if nothing is excluded.
    present: Option<Office>,
    /// Connections of its things, without excluded ones.
    pub networks: Networks,
    /// Computed figures of the office.
    pub prediction: Prediction,
    /// The settings of its repository.
    pub settings: Arc<Settings>,
    /// Repository that contains the file.
    pub repository: Arc<Repository>,
    findings: OnceLock<Vec<Finding>>,
    /// The results of its text after trial edits.
    pub(crate) tried: Mutex<TrialResults>,
    pub(crate) made_from: MadeFrom,
    today: Date,
}

impl Analysis {
    /// The files that it was made from: its own, those that it uses, and the settings of its repository.
    pub fn files(&self) -> impl Iterator<Item = FileId> + '_ {
        let read = self.made_from.iter().map(|(file, _)| *file);
        read.chain(self.repository.settings_files())
    }

    /// The office as checked and computed: without things excluded because of their stage.
    pub fn present(&self) -> &Office {
        self.present.as_ref().unwrap_or(&self.office)
    }

    /// Connections of all things, including excluded ones. `None` if nothing is excluded.
    pub fn all_networks(&self) -> Option<Networks> {
        self.present.as_ref().map(|_| Networks::new(&self.office))
    }

    /// Recomputes it with everything that is planned included.
    pub fn plan(&mut self) {
        let Some(planned) = self.office.with_planned() else {
            return;
        };
        self.networks = Networks::new(&planned);
        self.prediction = Prediction::new(&planned, &self.networks);
        self.present = Some(planned);
        self.findings = OnceLock::new();
        self.tried = Mutex::default();
    }

    /// Results of the office's own rules, computed on first use.
    pub fn findings(&self) -> &[Finding] {
        self.findings.get_or_init(|| inspect(&self.inspection(), self.today))
    }

    /// The input of its rules.
    pub fn inspection(&self) -> Inspection<'_> {
        Inspection::new(self.present(), &self.networks, &self.prediction, &self.settings).of(&self.office)
    }
}
