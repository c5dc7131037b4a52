use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, OnceLock, PoisonError, RwLock};

use drysheath_office::{KnownStandard, PartsLookup};

use crate::analysis::Given;
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
    /// What that would be made from, where it has not been made.
    pub given: OnceLock<Option<Given>>,
}

/// What a file gives to the files that use it, and what that was made from. That depends on the file and, in the meaning of its
/// flows, on the conditions at which the settings count standard volumes.
#[derive(Debug, Default)]
pub(crate) struct KnownParts(RwLock<Option<(&'static KnownStandard, Lookup)>>);

/// What was found, and of which bytes; the latter is none where more than its bytes decided about it.
pub(crate) type Lookup = (PartsLookup, Option<Given>);

impl KnownParts {
    /// What is known, or else what `give` finds.
    pub fn get(&self, standard: &'static KnownStandard, give: impl FnOnce() -> Lookup) -> Lookup {
        let known = |parts: &Option<(&'static KnownStandard, Lookup)>| {
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

    /// Forgets what is known, which can be found again.
    pub fn forget(&self) {
        let known = self.0.write().unwrap_or_else(PoisonError::into_inner).take();
        drop(known);
    }

    /// What it was made from, or else what `read` says that it would be made from.
    pub fn given_or(&self, read: impl FnOnce() -> Option<Given>) -> Option<Given> {
        let known = self.0.read().unwrap_or_else(PoisonError::into_inner);
        let made = known.as_ref().map(|(_, (_, given))| *given);
        drop(known);
        made.unwrap_or_else(read)
    }
}

/// Offices that others found at the other end of their routes, as far back as they are still of use: those neighbours are read
/// soon after, and a county has more offices than fit into memory.
#[derive(Debug, Default)]
pub(crate) struct RecentNeighbours(Mutex<VecDeque<Arc<FileVersion>>>);

impl RecentNeighbours {
    /// How many are kept: several times as many as are computed with one office.
    const KEPT: usize = 256;

    /// Takes in an office that has been read, and forgets what was read of the one that is the longest ago.
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
