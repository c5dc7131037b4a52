use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, OnceLock, PoisonError, RwLock};

use drysheath_office::{NamedStandardConditions, PartsLookup};

use crate::analysis::ProvidedContent;
use crate::source::Content;

/// A text that takes precedence over the source.
#[derive(Debug)]
pub(crate) struct Buffer {
    /// The editor's version number.
    pub version: Option<i32>,
    pub content: Content,
}

/// A file between two changes, and what follows from it alone. Two states hold the same version of a file exactly if it
/// has not changed between them, so versions are compared by identity.
#[derive(Debug, Default)]
pub(crate) struct FileVersion {
    /// The editor's text. `None` for the source's text.
    pub buffer: Option<Buffer>,
    /// Path with all links resolved.
    pub real_path: OnceLock<Option<PathBuf>>,
    /// Contents that it provides to the files that use it.
    pub parts: KnownParts,
    /// The bytes that this would be made from, if it has not been made.
    pub given: OnceLock<Option<ProvidedContent>>,
}

/// What a file provides to the files that use it, and the bytes that it was made from. It depends on the file and, for
/// the meaning of flows, on the standard conditions in the settings.
#[derive(Debug, Default)]
pub(crate) struct KnownParts(RwLock<Option<(&'static NamedStandardConditions, Lookup)>>);

/// What was found, and in which bytes; the latter is `None` if it depends on more than the file's bytes.
pub(crate) type Lookup = (PartsLookup, Option<ProvidedContent>);

impl KnownParts {
    /// The cached value, or else the result of `give`.
    pub fn get(&self, standard: &'static NamedStandardConditions, give: impl FnOnce() -> Lookup) -> Lookup {
        let known = |parts: &Option<(&'static NamedStandardConditions, Lookup)>| {
            let (at, found) = parts.as_ref()?;
            std::ptr::eq(*at, standard).then(|| found.clone())
        };
        if let Some(found) = known(&self.0.read().unwrap_or_else(PoisonError::into_inner)) {
            return found;
        }
        let mut parts = self.0.write().unwrap_or_else(PoisonError::into_inner);
        // Another thread may have been first.
        known(&parts).unwrap_or_else(|| {
            let found = give();
            *parts = Some((standard, found.clone()));
            found
        })
    }

    /// Drops the cached value, which can be recomputed.
    pub fn forget(&self) {
        let known = self.0.write().unwrap_or_else(PoisonError::into_inner).take();
        drop(known);
    }

    /// The bytes that it was made from, or else the result of `read`.
    pub fn provided_or(&self, read: impl FnOnce() -> Option<ProvidedContent>) -> Option<ProvidedContent> {
        let known = self.0.read().unwrap_or_else(PoisonError::into_inner);
        let made = known.as_ref().map(|(_, (_, given))| *given);
        drop(known);
        made.unwrap_or_else(read)
    }
}

/// Offices recently read as neighbours of others, kept as long as they are useful: those neighbours are read soon
/// after, and a county has more offices than fit into memory.
#[derive(Debug, Default)]
pub(crate) struct RecentNeighbours(Mutex<VecDeque<Arc<FileVersion>>>);

impl RecentNeighbours {
    /// Number kept: several times as many as are computed with one office.
    const KEPT: usize = 256;

    /// Adds an office, and drops what was read of the oldest one.
    pub fn put(&self, version: &Arc<FileVersion>) {
        let mut recent = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        recent.push_back(Arc::clone(version));
        let oldest = (recent.len() > Self::KEPT).then(|| recent.pop_front()).flatten();
        drop(recent);
        if let Some(oldest) = oldest {
            oldest.parts.forget();
        }
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
