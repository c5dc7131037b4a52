use std::sync::Arc;

use drysheath_text::Place;
use rustc_hash::FxHashMap;

use crate::kinds::Kind;
use crate::value::{Field, Fields};

/// A thing described once, for offices to use many of.
#[derive(Debug)]
pub struct Part {
    /// What things it describes.
    pub kind: &'static Kind,
    /// Its name.
    pub name: Box<str>,
    /// The name's place.
    pub place: Place,
    /// Its fields.
    pub fields: Vec<Field>,
    /// Whether something in it could not be understood.
    pub damaged: bool,
}

impl Fields for Part {
    fn fields(&self) -> &[Field] {
        &self.fields
    }
}

/// What a file of parts gives to the files that use it.
#[derive(Debug, Default)]
pub struct PartsFile {
    /// Its parts, by name.
    pub parts: FxHashMap<Box<str>, Arc<Part>>,
    /// The paths that it uses in turn.
    pub uses: Vec<Box<str>>,
    /// Whether a part in it may have gone unread, so that a name that is not found proves nothing.
    pub unsure: bool,
}

/// What is behind a path that a `use` names.
#[derive(Clone, Debug)]
pub enum Lookup {
    /// A file of parts.
    Found(Arc<PartsFile>),
    /// No such file.
    Missing,
    /// A file outside the repository.
    Outside,
    /// A file that cannot be read, and why.
    Unreadable(String),
}

/// Where the files of parts come from. This room reads no files itself.
pub trait Library {
    /// What is behind `path`, which counts from the repository's root and has no extension.
    fn find(&self, path: &str) -> Lookup;

    /// Paths like `path` that exist, for a suggestion.
    fn similar(&self, path: &str) -> Option<String>;
}

/// A library without books.
pub struct NoParts;

impl Library for NoParts {
    fn find(&self, _: &str) -> Lookup {
        Lookup::Missing
    }

    fn similar(&self, _: &str) -> Option<String> {
        None
    }
}
