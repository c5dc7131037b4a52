//! The one queue to the scheduler.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, Sender, channel};

use drysheath_text::Encoding;
use drysheath_workspace::{Change, Snapshot};
use tokio::sync::oneshot;

/// What the queue carries.
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
    /// Files that changed, appeared or vanished outside the editor.
    ChangedOnDisk(Vec<PathBuf>),
    Folders {
        added: Vec<PathBuf>,
        removed: Vec<PathBuf>,
    },
    /// All files below some folders, and those of them that changed since the last scan.
    Found {
        folders: Vec<PathBuf>,
        files: Vec<PathBuf>,
        changed: Vec<PathBuf>,
        /// Why something there cannot be read, in words.
        troubles: BTreeSet<String>,
    },
    /// Scan the folders again, unless the client watches them.
    Rescan,
    /// A scan of folders has ended.
    Scanned,
    /// A question that wants a snapshot with all changes before it.
    Ask(Question),
}

/// A question that waits for the snapshot it is answered from.
pub(crate) struct Question {
    pub after: After,
    pub snapshot: oneshot::Sender<Snapshot>,
}

/// What a question waits for in addition to the changes before it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum After {
    Nothing,
    /// That the results of this file are those of its text.
    Results(PathBuf),
    /// That all files of all folders have been found and linted.
    Everything,
}

/// The sending end of the queue.
#[derive(Clone, Debug)]
pub(crate) struct Queue(Sender<Message>);

impl Queue {
    pub fn new() -> (Self, Receiver<Message>) {
        let (sender, receiver) = channel();
        (Self(sender), receiver)
    }

    /// Puts a message at the end of the queue.
    pub fn send(&self, message: Message) {
        // The scheduler is gone only when the session ends.
        let _ = self.0.send(message);
    }

    /// The state after all messages so far. `None` if the scheduler has failed.
    pub async fn snapshot(&self, after: After) -> Option<Snapshot> {
        let (snapshot, taken) = oneshot::channel();
        self.send(Message::Ask(Question { after, snapshot }));
        taken.await.ok()
    }
}
