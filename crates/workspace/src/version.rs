use std::path::PathBuf;
use std::sync::{Arc, OnceLock};

use drysheath_office::PartsLookup;

use crate::source::Content;

/// A text that lies over what the source has.
#[derive(Debug)]
pub(crate) struct Buffer {
    /// The editor's version of it.
    pub version: Option<i32>,
    pub content: Content,
}

/// A file between two changes of it, and what follows from it alone. Two states hold the same version of a file exactly
/// where it has not changed between them, so that versions are compared by identity.
#[derive(Debug, Default)]
pub(crate) struct FileVersion {
    /// The editor's text; none where that of the source holds.
    pub buffer: Option<Buffer>,
    /// Where the file is once all links are followed.
    pub real_path: OnceLock<Option<PathBuf>>,
    /// What it gives to the files that use it.
    pub parts: OnceLock<PartsLookup>,
}

impl FileVersion {
    pub fn open(version: Option<i32>, content: Content) -> Arc<Self> {
        Arc::new(Self {
            buffer: Some(Buffer { version, content }),
            ..Self::default()
        })
    }
}
