//! Pending requests. An answer is cancelled as soon as it is no longer needed.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use drysheath_workspace::Cancellation;

/// Edits that make an answer wrong, so that the client has to ask again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum StaleAfter {
    /// None: the answer is about the earlier text and still useful.
    Nothing,
    /// An edit of this document, which the answer's edits apply to.
    EditOf(PathBuf),
    /// An edit of any document, since the answer's edits may apply to it.
    AnyEdit,
}

/// All requests that are being answered.
#[derive(Clone, Debug, Default)]
pub(crate) struct PendingRequests(Arc<Mutex<Vec<Arc<PendingRequest>>>>);

#[derive(Debug)]
struct PendingRequest {
    stale_after: StaleAfter,
    cancellation: Cancellation,
}

/// One pending request. Dropping it cancels the answer, which happens when the client cancels.
#[derive(Debug)]
pub(crate) struct RequestGuard {
    pending_requests: PendingRequests,
    asked: Arc<PendingRequest>,
}

impl PendingRequests {
    /// Registers a request that is being answered.
    pub fn begin(&self, stale_after: StaleAfter) -> RequestGuard {
        let asked = Arc::new(PendingRequest {
            stale_after,
            cancellation: Cancellation::default(),
        });
        self.lock().push(Arc::clone(&asked));
        RequestGuard {
            pending_requests: self.clone(),
            asked,
        }
    }

    /// Cancels the answers that an edit of a document makes stale.
    pub fn edited(&self, path: &Path) {
        for asked in &*self.lock() {
            let is_stale = match &asked.stale_after {
                StaleAfter::Nothing => false,
                StaleAfter::EditOf(about) => about == path,
                StaleAfter::AnyEdit => true,
            };
            if is_stale {
                asked.cancellation.cancel();
            }
        }
    }

    fn lock(&self) -> MutexGuard<'_, Vec<Arc<PendingRequest>>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl RequestGuard {
    /// Cancellation token for computing the answer.
    pub fn cancellation(&self) -> Cancellation {
        self.asked.cancellation.clone()
    }

    /// Whether an edit has made the answer stale.
    pub fn is_stale(&self) -> bool {
        self.asked.cancellation.is_cancelled()
    }
}

impl Drop for RequestGuard {
    fn drop(&mut self) {
        self.asked.cancellation.cancel();
        self.pending_requests
            .lock()
            .retain(|asked| !Arc::ptr_eq(asked, &self.asked));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_edit_gives_up_what_it_makes_stale() {
        let pending_requests = PendingRequests::default();
        let of = |path: &str| StaleAfter::EditOf(PathBuf::from(path));
        let asked =
            [StaleAfter::Nothing, of("/a"), of("/b"), StaleAfter::AnyEdit].map(|after| pending_requests.begin(after));
        pending_requests.edited(Path::new("/a"));
        assert_eq!(asked.each_ref().map(RequestGuard::is_stale), [false, true, false, true]);
        assert!(
            !pending_requests.begin(of("/a")).is_stale(),
            "it was asked after the edit"
        );
    }

    #[test]
    fn what_is_dropped_is_given_up_and_forgotten() {
        let pending_requests = PendingRequests::default();
        let answering = pending_requests.begin(StaleAfter::Nothing);
        let cancellation = answering.cancellation();
        assert!(!cancellation.is_cancelled());
        drop(answering);
        assert!(cancellation.is_cancelled() && pending_requests.lock().is_empty());
    }
}
