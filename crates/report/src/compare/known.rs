//! Data that a comparison needs of every file, even of those that cannot differ. It depends only on the file and what
//! it uses, so it can be stored between runs.

use std::sync::Arc;

use drysheath_office::{Fields as _, Summary};
use drysheath_workspace::{LoweredFile, ReadFile, Snapshot};

/// Data that a comparison needs of a file that cannot differ.
#[derive(Clone, Debug)]
pub struct KnownFile {
    /// Input of the rules across files.
    pub summary: Arc<Summary>,
    /// Whether it describes an office.
    pub has_office: bool,
    /// A former name of the office.
    pub former_name: Option<Box<str>>,
    /// Whether an office in it may be unreadable.
    pub unsure: bool,
    /// The files that it uses, by the names in its text.
    pub named: Vec<Box<str>>,
}

impl KnownFile {
    /// Collects it from a file that has been read and its summary.
    pub fn of(reading: &LoweredFile, summary: Arc<Summary>) -> Self {
        let office = &reading.office;
        let itself = office.itself.map(|id| office.thing(id));
        Self {
            summary,
            has_office: office.itself.is_some(),
            former_name: itself.and_then(|itself| Some(itself.former_names().next()?.0.into())),
            unsure: reading.problem.is_some() || office.unsure.things,
            named: office.files_named().map(Into::into).collect(),
        }
    }
}

/// Knowledge of files from earlier runs. The result must not depend on whether a file is known.
pub trait KnownFiles: Sync {
    /// Known data of a file with this content, in this state of all other files.
    fn find(&self, snapshot: &Snapshot, read: &ReadFile) -> Option<KnownFile>;

    /// Stores what is known of a file.
    fn store(&self, reading: &LoweredFile, known: &KnownFile);
}

/// An empty store, for comparisons without a cache.
pub(super) struct NothingKnown;

impl KnownFiles for NothingKnown {
    fn find(&self, _: &Snapshot, _: &ReadFile) -> Option<KnownFile> {
        None
    }

    fn store(&self, _: &LoweredFile, _: &KnownFile) {}
}
