use std::sync::Arc;

use drysheath_text::FileId;
use rustc_hash::FxHashMap;

/// Paths and texts of some files, for showing places in them.
#[derive(Clone, Debug, Default)]
pub struct Texts {
    files: FxHashMap<FileId, Named>,
}

#[derive(Clone, Debug, Default)]
struct Named {
    path: Box<str>,
    path_from_root: Box<str>,
    text: Arc<str>,
}

impl Texts {
    /// A file's path as the user gave it; empty for a file that is not among them.
    pub fn path(&self, file: FileId) -> &str {
        self.files.get(&file).map_or("", |named| &named.path)
    }

    /// A file's path from the root of its repository; empty for a file that is not among them.
    pub fn path_from_root(&self, file: FileId) -> &str {
        self.files.get(&file).map_or("", |named| &named.path_from_root)
    }

    /// A file's text; empty for a file that is not among them or is not there any more.
    pub fn text(&self, file: FileId) -> &str {
        self.files.get(&file).map_or("", |named| &named.text)
    }

    /// The files of both.
    #[must_use]
    pub fn and(mut self, others: Self) -> Self {
        self.files.extend(others.files);
        self
    }
}

impl Texts {
    pub(crate) fn insert(&mut self, file: FileId, path: Box<str>, path_from_root: Box<str>, text: Arc<str>) {
        let named = Named {
            path,
            path_from_root,
            text,
        };
        self.files.insert(file, named);
    }
}
