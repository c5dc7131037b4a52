use std::sync::Arc;

use drysheath_text::FileId;
use rustc_hash::FxHashMap;

/// Paths and texts of some files, for showing places in them.
#[derive(Clone, Debug, Default)]
pub struct Texts {
    files: FxHashMap<FileId, (Box<str>, Arc<str>)>,
}

impl Texts {
    /// A file's path as the user gave it; empty for a file that is not among them.
    pub fn path(&self, file: FileId) -> &str {
        self.files.get(&file).map_or("", |(path, _)| path)
    }

    /// A file's text; empty for a file that is not among them or is not there any more.
    pub fn text(&self, file: FileId) -> &str {
        self.files.get(&file).map_or("", |(_, text)| text)
    }

    /// The files of both.
    #[must_use]
    pub fn and(mut self, others: Self) -> Self {
        self.files.extend(others.files);
        self
    }
}

impl FromIterator<(FileId, Box<str>, Arc<str>)> for Texts {
    fn from_iter<I: IntoIterator<Item = (FileId, Box<str>, Arc<str>)>>(files: I) -> Self {
        let files = files.into_iter().map(|(file, path, text)| (file, (path, text)));
        Self { files: files.collect() }
    }
}
