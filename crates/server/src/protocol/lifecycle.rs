use std::process::ExitCode;
use std::sync::atomic::{AtomicBool, Ordering};

use tokio::sync::Notify;

/// Progress of a session towards its end.
#[derive(Debug, Default)]
pub(crate) struct Lifecycle {
    shutdown: AtomicBool,
    closed: Notify,
}

impl Lifecycle {
    /// Records that the client has sent `shutdown`.
    pub fn shut_down(&self) {
        self.shutdown.store(true, Ordering::SeqCst);
    }

    /// Ends the session without waiting for the client.
    pub fn close(&self) {
        self.closed.notify_one();
    }

    /// Returns once the session has been closed.
    pub(super) async fn closed(&self) {
        self.closed.notified().await;
    }

    /// The exit code that the protocol requires: 0 after a `shutdown` request, otherwise 1.
    pub fn exit_code(&self) -> ExitCode {
        if self.shutdown.load(Ordering::SeqCst) {
            ExitCode::SUCCESS
        } else {
            ExitCode::FAILURE
        }
    }
}
