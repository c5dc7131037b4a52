//! The message queue of the scheduler.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, Sender, channel};

use drysheath_text::Encoding;
use drysheath_workspace::{Change, Snapshot};
use tokio::sync::oneshot;

/// A message to the scheduler.
pub(crate) enum Message {
    Open {
        path: PathBuf,
        version: i32,
        text: String,
    },
    Change {
        path: PathBuf,
        version: i32,
        changes: Vec<Change>,
        encoding: Encoding,
    },
    Close(PathBuf),
    /// Files changed, created or deleted outside the editor.
    ChangedOnDisk(Vec<PathBuf>),
    Folders {
        added: Vec<PathBuf>,
        removed: Vec<PathBuf>,
    },
    /// All files below some folders, and which of them changed since the last scan.
    Found {
        folders: Vec<PathBuf>,
        files: Vec<PathBuf>,
        changed: Vec<PathBuf>,
        /// Messages about anything there that cannot be read.
        troubles: BTreeSet<String>,
    },
    /// Scan the folders again, unless the client watches them.
    Rescan,
    /// A scan of folders has ended.
    Scanned,
    /// A request that needs a snapshot with all earlier changes.
    Ask(SnapshotRequest),
}

/// A request that waits for its snapshot.
pub(crate) struct SnapshotRequest {
    pub after: WaitFor,
    pub snapshot: oneshot::Sender<Snapshot>,
}

/// What a request waits for in addition to earlier changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum WaitFor {
    Nothing,
    /// The results of this file are up to date with its text.
    Results(PathBuf),
    /// All files of all folders have been found and linted.
    Everything,
}

/// Sender of the queue.
#[derive(Clone, Debug)]
pub(crate) struct Queue(Sender<Message>);

impl Queue {
    pub fn new() -> (Self, Receiver<Message>) {
        let (sender, receiver) = channel();
        (Self(sender), receiver)
    }

    /// Appends a message to the queue.
    pub fn send(&self, message: Message) {
        // The scheduler ends only with the session.
        let _ = self.0.send(message);
    }

    /// The state after all messages so far. `None` if the scheduler has failed.
    pub async fn snapshot(&self, after: WaitFor) -> Option<Snapshot> {
        let (snapshot, taken) = oneshot::channel();
        self.send(Message::Ask(SnapshotRequest { after, snapshot }));
        taken.await.ok()
    }
}
