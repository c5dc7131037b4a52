use std::sync::Arc;

use drysheath_text::FileId;
use rustc_hash::FxHashMap;

/// Paths and texts of some files, to display places in them.
#[derive(Clone, Debug, Default)]
pub struct Texts {
    files: FxHashMap<FileId, NamedText>,
}

#[derive(Clone, Debug, Default)]
struct NamedText {
    path: Box<str>,
    path_from_root: Box<str>,
    text: Arc<str>,
}

impl Texts {
    /// Path of a file as the user gave it; empty for a file not included.
    pub fn path(&self, file: FileId) -> &str {
        self.files.get(&file).map_or("", |named| &named.path)
    }

    /// Path of a file from the root of its repository; empty for a file not included.
    pub fn path_from_root(&self, file: FileId) -> &str {
        self.files.get(&file).map_or("", |named| &named.path_from_root)
    }

    /// Text of a file; empty for a file not included or no longer existing.
    pub fn text(&self, file: FileId) -> &str {
        self.files.get(&file).map_or("", |named| &named.text)
    }

    /// Adds the files of `others`.
    #[must_use]
    pub fn and(mut self, others: Self) -> Self {
        self.files.extend(others.files);
        self
    }
}

impl Texts {
    pub(crate) fn insert(&mut self, file: FileId, path: Box<str>, path_from_root: Box<str>, text: Arc<str>) {
        let named = NamedText {
            path,
            path_from_root,
            text,
        };
        self.files.insert(file, named);
    }
}
