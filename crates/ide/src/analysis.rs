use std::path::Path;
use std::sync::Arc;

use drysheath_explanation::Explainer;
use drysheath_office::{Date, Library, Networks, Office, lower};
use drysheath_prediction::Prediction;
use drysheath_rules::{Finding, Inspection, Settings, inspect};
use drysheath_syntax::{Tree, parse};
use drysheath_text::{FileId, LineIndex};

/// A file at one moment: its text, and all that follows from it. Nothing in it ever changes.
pub struct Analysis {
    /// The file.
    pub file: FileId,
    /// Its path on the disk.
    pub path: Arc<Path>,
    /// Its path from the repository's root, without extension, as a `use` would name it.
    pub name: Box<str>,
    /// The editor's version of the text; none where the disk's is meant.
    pub version: Option<i32>,
    /// The text.
    pub text: Arc<str>,
    /// Where its lines start.
    pub lines: LineIndex,
    /// What it says, as written.
    pub tree: Tree,
    /// What it says, understood.
    pub office: Office,
    /// How its things are joined.
    pub networks: Networks,
    /// What is computed of it.
    pub prediction: Prediction,
    /// The results that it gives by itself.
    pub findings: Vec<Finding>,
    /// The settings of its repository.
    pub settings: Arc<Settings>,
}

/// What an analysis starts from.
pub(crate) struct Given<'g> {
    pub file: FileId,
    pub path: Arc<Path>,
    pub name: String,
    pub version: Option<i32>,
    pub text: Arc<str>,
    pub library: &'g dyn Library,
    pub settings: Arc<Settings>,
    pub today: Date,
}

impl Analysis {
    pub(crate) fn new(given: Given<'_>) -> Self {
        let tree = parse(&given.text);
        let office = lower(given.file, &given.name, Arc::clone(&given.text), &tree, given.library);
        let networks = Networks::new(&office);
        let prediction = Prediction::new(&office, &networks);
        let inspection = Inspection::new(&office, &networks, &prediction, &given.settings);
        let findings = inspect(&inspection, given.today);
        Self {
            file: given.file,
            path: given.path,
            name: given.name.into(),
            version: given.version,
            lines: LineIndex::new(&given.text),
            text: given.text,
            tree,
            office,
            networks,
            prediction,
            findings,
            settings: given.settings,
        }
    }

    /// How its figures come about.
    pub(crate) fn explainer(&self) -> Explainer<'_> {
        Explainer {
            office: &self.office,
            networks: &self.networks,
            prediction: &self.prediction,
            minimums: self.settings.minimums(),
        }
    }

    /// What the rules are given of it.
    pub fn inspection(&self) -> Inspection<'_> {
        Inspection::new(&self.office, &self.networks, &self.prediction, &self.settings)
    }
}
