use std::sync::Arc;

use drysheath_text::FileId;

/// Paths and texts of files, for whoever shows results in them.
#[derive(Clone, Debug, Default)]
pub struct Texts {
    files: Vec<(Box<str>, Arc<str>)>,
}

impl Texts {
    pub(crate) fn new(files: Vec<(Box<str>, Arc<str>)>) -> Self {
        Self { files }
    }

    /// A file's path as the user gave it.
    pub fn path(&self, file: FileId) -> &str {
        self.files.get(file.0 as usize).map_or("", |(path, _)| path)
    }

    /// A file's text; empty where it is not among those that were asked for.
    pub fn text(&self, file: FileId) -> &str {
        self.files.get(file.0 as usize).map_or("", |(_, text)| text)
    }
}
