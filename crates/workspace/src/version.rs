use std::path::PathBuf;
use std::sync::{Arc, OnceLock, PoisonError, RwLock};

use drysheath_office::{KnownStandard, PartsLookup};

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
    pub parts: KnownParts,
}

/// What a file gives to the files that use it. That depends on the file and, in the meaning of its flows, on the conditions at
/// which the settings count standard volumes.
#[derive(Debug, Default)]
pub(crate) struct KnownParts(RwLock<Option<(&'static KnownStandard, PartsLookup)>>);

impl KnownParts {
    /// What is known, or else what `give` finds.
    pub fn get(&self, standard: &'static KnownStandard, give: impl FnOnce() -> PartsLookup) -> PartsLookup {
        let known = |parts: &Option<(&'static KnownStandard, PartsLookup)>| {
            let (at, found) = parts.as_ref()?;
            std::ptr::eq(*at, standard).then(|| found.clone())
        };
        if let Some(found) = known(&self.0.read().unwrap_or_else(PoisonError::into_inner)) {
            return found;
        }
        let mut parts = self.0.write().unwrap_or_else(PoisonError::into_inner);
        // Another thread may have come first.
        known(&parts).unwrap_or_else(|| {
            let found = give();
            *parts = Some((standard, found.clone()));
            found
        })
    }
}

impl FileVersion {
    pub fn open(version: Option<i32>, content: Content) -> Arc<Self> {
        Arc::new(Self {
            buffer: Some(Buffer { version, content }),
            ..Self::default()
        })
    }
}
