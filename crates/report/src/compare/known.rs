//! What a comparison must know of every file, also of those that cannot differ. It follows from the file and what that uses alone, so
//! that it may be known from an earlier run.

use std::sync::Arc;

use drysheath_office::{Fields as _, Summary};
use drysheath_workspace::{LoweredFile, ReadFile, Snapshot};

/// What must be known of a file that cannot differ.
#[derive(Clone, Debug)]
pub struct KnownFile {
    /// What the rules about all files must know of it.
    pub summary: Arc<Summary>,
    /// Whether it describes an office.
    pub has_office: bool,
    /// A name that the office had before.
    pub former_name: Option<Box<str>>,
    /// Whether an office in it may have gone unread.
    pub unsure: bool,
    /// The files that it names, as it names them.
    pub named: Vec<Box<str>>,
}

impl KnownFile {
    /// What is known of a file once it has been read; `summary` is its own.
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

/// What is known of files from earlier runs. Nothing may depend on whether something is.
pub trait KnownFiles: Sync {
    /// What is known of a file with these bytes, in this state of all others.
    fn find(&self, snapshot: &Snapshot, read: &ReadFile) -> Option<KnownFile>;

    /// Takes in what is known of a file.
    fn store(&self, reading: &LoweredFile, known: &KnownFile);
}

/// Nothing is known of any file.
pub(super) struct NothingKnown;

impl KnownFiles for NothingKnown {
    fn find(&self, _: &Snapshot, _: &ReadFile) -> Option<KnownFile> {
        None
    }

    fn store(&self, _: &LoweredFile, _: &KnownFile) {}
}
