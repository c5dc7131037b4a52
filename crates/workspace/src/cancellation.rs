use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Says to whoever computes an answer that nobody wants it any more. Clones are one and the same.
#[derive(Clone, Debug, Default)]
pub struct Cancellation(Arc<AtomicBool>);

impl Cancellation {
    /// The answer is not wanted any more.
    pub fn cancel(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether the answer is not wanted any more.
    pub fn is_cancelled(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}
