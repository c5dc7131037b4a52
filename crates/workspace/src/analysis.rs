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

/// The versions of the files that something was made from, each once.
pub(crate) type MadeFrom = Vec<(FileId, Arc<FileVersion>)>;

/// The results of a text after edits that were tried out, by those edits.
pub(crate) type Tried = FxHashMap<Box<[Edit]>, Arc<[Finding]>>;

/// A file whose bytes have been read, and nothing out of them.
#[derive(Clone)]
pub struct ReadFile {
    /// The file that was read.
    pub file: FileId,
    /// Its path as the user gave it.
    pub path: Arc<Path>,
    /// Its path from the repository's root, without extension, as a `use` would name it.
    pub name: Box<str>,
    /// The repository that it belongs to.
    pub repository: Arc<Repository>,
    /// The editor's version of the text; none for the text of the source.
    pub version: Option<i32>,
    /// What it says.
    pub content: Content,
}

/// A file that was asked for while another was lowered.
#[derive(Clone, Debug)]
pub struct Used {
    /// The name that it was asked for by.
    pub name: Box<str>,
    /// Its number, whether it is there or not.
    pub file: FileId,
    /// What was found. None where more than its bytes decided about that.
    pub given: Option<Given>,
}

/// What a file gives to those that ask for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Given {
    /// What follows from a text of this digest.
    Text(Digest),
    /// Nothing: there is no such file.
    Nothing,
}

/// What one file says, and what its words mean in its repository: everything before anything is computed.
pub struct LoweredFile {
    /// The file that was lowered.
    pub file: FileId,
    /// Its path as the user gave it.
    pub path: Arc<Path>,
    /// Its path from the repository's root, without extension, as a `use` would name it.
    pub name: Box<str>,
    /// The editor's version of the text; none for the text of the source.
    pub version: Option<i32>,
    /// The text that the tree and the office were made from.
    pub text: Arc<str>,
    /// What is wrong with its bytes. The text ends where that begins, and nothing in it can be relied upon.
    pub problem: Option<Problem>,
    /// What it says, as written.
    pub tree: Arc<Tree>,
    /// What it says, understood.
    pub office: Office,
    /// The repository that it belongs to.
    pub repository: Arc<Repository>,
    /// The files that were asked for, each by every name. None where it was also asked which files there are: then they are not
    /// all that the office was made from.
    pub used: Option<Vec<Used>>,
    pub(crate) made_from: MadeFrom,
    pub(crate) today: Date,
}

impl LoweredFile {
    /// The results of the file's own rules, without those across files.
    pub fn findings(&self) -> Vec<Finding> {
        self.judged().0
    }

    /// The results of the file's own rules, and how much of it could be checked.
    pub fn judged(&self) -> (Vec<Finding>, Coverage) {
        Self::all_judged(std::slice::from_ref(self)).pop().unwrap_or_default()
    }

    /// The same of a few files at once, which takes less time than one after the other.
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

    /// What other files must know of it. Of a file whose bytes are wrong nothing is known.
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

    /// Computes networks and predictions from it.
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

/// A file at one moment: its text, and all that follows from it. Nothing in it ever changes.
pub struct Analysis {
    /// The file that was analysed.
    pub file: FileId,
    /// Its path as the user gave it.
    pub path: Arc<Path>,
    /// Its path from the repository's root, without extension, as a `use` would name it.
    pub name: Box<str>,
    /// The editor's version of the text; none for the text of the source.
    pub version: Option<i32>,
    /// The text that everything else was made from.
    pub text: Arc<str>,
    /// Where its lines start.
    pub lines: LineIndex,
    /// What is wrong with its bytes. The text ends where that begins, and nothing in it can be relied upon.
    pub problem: Option<Problem>,
    /// What it says, as written.
    pub tree: Arc<Tree>,
    /// What it says, understood.
    pub office: Office,
    /// The same without what is left out because of its stage, where something is.
    present: Option<Office>,
    /// How its things are joined, apart from what is left out because of its stage.
    pub networks: Networks,
    /// What is computed of it.
    pub prediction: Prediction,
    /// The settings of its repository.
    pub settings: Arc<Settings>,
    /// The repository that it belongs to.
    pub repository: Arc<Repository>,
    findings: OnceLock<Vec<Finding>>,
    /// The results of its text after edits that were tried out.
    pub(crate) tried: Mutex<Tried>,
    pub(crate) made_from: MadeFrom,
    today: Date,
}

impl Analysis {
    /// The files that it was made from: its own, those that it uses, and the settings of its repository.
    pub fn files(&self) -> impl Iterator<Item = FileId> + '_ {
        let read = self.made_from.iter().map(|(file, _)| *file);
        read.chain(self.repository.settings_files())
    }

    /// What its rules look at and its figures are computed of: the office without what is left out because of its stage.
    pub fn present(&self) -> &Office {
        self.present.as_ref().unwrap_or(&self.office)
    }

    /// How all things are joined, those among them that are left out because of their stage. None where nothing is left out.
    pub fn all_networks(&self) -> Option<Networks> {
        self.present.as_ref().map(|_| Networks::new(&self.office))
    }

    /// Computes it as it will be once everything that is planned is there.
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

    /// The results of the office's own rules, computed when they are first needed.
    pub fn findings(&self) -> &[Finding] {
        self.findings.get_or_init(|| inspect(&self.inspection(), self.today))
    }

    /// What rules are given of it.
    pub fn inspection(&self) -> Inspection<'_> {
        Inspection::new(self.present(), &self.networks, &self.prediction, &self.settings).of(&self.office)
    }
}
