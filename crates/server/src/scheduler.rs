//! The thread that owns the workspace.
//!
//! It applies messages in the order of arrival and gives each request a snapshot. While no message is waiting, it lints
//! one file and then checks for messages again: an edit never waits for more than one file. The rules across files of a
//! repository take longer the more files there are, so they wait for a pause between messages ([`PAUSE`]). The thread
//! answers no request itself, and blocks on nothing but the queue.

use std::collections::{BTreeSet, HashMap};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError};
use std::time::Duration;

use drysheath_disk::{Disk, EXTENSION, SETTINGS};
use drysheath_text::FileId;
use drysheath_workspace::{Content, Invalidated, Workspace};
use tower_lsp::Client;
use tower_lsp::lsp_types::MessageType;

use crate::backlog::{Backlog, Work};
use crate::diagnostics::{FileDiagnostics, Publisher};
use crate::memory::{LARGE, give_back};
use crate::pool::panic_message;
use crate::protocol::Notifier;
use crate::queue::{Message, Queue, SnapshotRequest, WaitFor};
use crate::scan::{ScanReason, Scanner, today};
use crate::session::Session;

/// Time without messages before the rules across files run: longer than the interval between an editor's changes when
/// it pastes or repeats a key, and too short to be noticed.
const PAUSE: Duration = Duration::from_millis(20);

/// One step of the thread's loop.
enum Step {
    Apply(Message),
    Lint(Work),
}

/// State of the thread.
pub(crate) struct Scheduler {
    workspace: Workspace,
    backlog: Backlog,
    scanner: Scanner,
    publisher: Publisher,
    client: Client,
    session: Arc<Session>,
    runtime: tokio::runtime::Handle,
    /// Last message logged for each file that cannot be read.
    unreadable: HashMap<PathBuf, String>,
    /// What the last scan could not read.
    troubles: BTreeSet<String>,
    /// Requests that wait for results.
    waiting: Vec<SnapshotRequest>,
}

impl Scheduler {
    /// Starts the thread. It ends when the last sender is dropped.
    pub fn start(queue: Queue, inbox: Receiver<Message>, client: Client, notifier: Notifier, session: Arc<Session>) {
        let scheduler = Self {
            workspace: Workspace::new(Arc::new(Disk), today()),
            backlog: Backlog::default(),
            scanner: Scanner::new(queue, client.clone(), Arc::clone(&session)),
            publisher: Publisher::new(client.clone(), notifier, Arc::clone(&session)),
            client,
            session,
            runtime: tokio::runtime::Handle::current(),
            unreadable: HashMap::new(),
            troubles: BTreeSet::new(),
            waiting: Vec::new(),
        };
        std::thread::spawn(move || scheduler.run(&inbox));
    }

    fn run(mut self, inbox: &Receiver<Message>) {
        while let Some(step) = self.next(inbox) {
            // A panic loses the results of one file, nothing else.
            let done = catch_unwind(AssertUnwindSafe(|| match step {
                Step::Apply(message) => self.apply(message),
                Step::Lint(work) => self.lint(work),
            }));
            if let Err(panic) = done {
                self.log(panic_message(&*panic));
            }
        }
    }

    /// Next step; messages have priority over linting. `None` once no more messages can arrive.
    fn next(&mut self, inbox: &Receiver<Message>) -> Option<Step> {
        self.answer_waiting();
        if self.backlog.is_empty() {
            self.publisher.idle();
        }
        if !self.backlog.has_files() {
            match inbox.try_recv() {
                Ok(message) => return Some(Step::Apply(message)),
                Err(TryRecvError::Disconnected) => return None,
                Err(TryRecvError::Empty) => self.workspace.sweep(),
            }
        }
        if self.backlog.is_empty() {
            return inbox.recv().ok().map(Step::Apply);
        }
        // A waiting request about all files needs the rules across files, so they run without a pause.
        let pause = if self.backlog.has_files() || !self.waiting.is_empty() {
            Duration::ZERO
        } else {
            PAUSE
        };
        match inbox.recv_timeout(pause) {
            Ok(message) => Some(Step::Apply(message)),
            Err(RecvTimeoutError::Timeout) => self.backlog.next().map(Step::Lint),
            Err(RecvTimeoutError::Disconnected) => None,
        }
    }

    /// Sends a snapshot to each request whose results are now available.
    fn answer_waiting(&mut self) {
        let Self {
            workspace,
            backlog,
            scanner,
            waiting,
            ..
        } = self;
        let is_ready = |question: &mut SnapshotRequest| match &question.after {
            WaitFor::Nothing => true,
            WaitFor::Results(path) => workspace.now().known(path).is_none_or(|file| !backlog.contains(file)),
            WaitFor::Everything => scanner.is_idle() && backlog.is_empty(),
        };
        for question in waiting.extract_if(.., is_ready) {
            // A cancelled request has no receiver.
            let _ = question.snapshot.send(workspace.snapshot());
        }
    }

    fn apply(&mut self, message: Message) {
        match message {
            Message::Open { path, version, text } => {
                let content = Content {
                    text: text.into(),
                    problem: None,
                };
                let (_, invalidated) = self.workspace.set_buffer(&path, Some(version), content);
                self.handle_invalidated(&invalidated);
            }
            Message::Change {
                path,
                version,
                changes,
                encoding,
            } => {
                if let Some((_, invalidated)) = self.workspace.edit(&path, version, changes, encoding) {
                    self.handle_invalidated(&invalidated);
                }
            }
            Message::Close(path) => {
                let is_large = self.length(&path) > LARGE;
                if let Some((_, invalidated)) = self.workspace.close(&path) {
                    self.handle_invalidated(&invalidated);
                }
                if is_large {
                    give_back(&self.runtime);
                }
            }
            Message::ChangedOnDisk(paths) => {
                let (files, others): (Vec<_>, Vec<_>) = paths.into_iter().partition(|path| is_read(path));
                self.changed_on_disk(&files);
                // If a folder appeared or vanished, the files in it are not listed.
                if !others.is_empty() {
                    self.scanner
                        .scan(self.workspace.now().folders(), ScanReason::Changed(others));
                }
            }
            Message::Folders { added, removed } => self.change_folders(added, &removed),
            Message::Found {
                mut folders,
                mut files,
                mut changed,
                troubles,
            } => {
                for trouble in troubles.difference(&self.troubles) {
                    self.log(trouble.clone());
                }
                self.troubles = troubles;
                // Folders may have been removed since the scan began.
                folders.retain(|folder| self.workspace.now().folders().contains(folder));
                for paths in [&mut files, &mut changed] {
                    paths.retain(|path| folders.iter().any(|folder| path.starts_with(folder)));
                }
                self.changed_on_disk(&changed);
                let invalidated = self.workspace.found(&folders, files);
                self.handle_invalidated(&invalidated);
            }
            Message::Rescan if self.session.capabilities().watches => {}
            Message::Rescan => self.scanner.scan(self.workspace.now().folders(), ScanReason::Asked),
            Message::Scanned => self.scanner.ended(self.workspace.now().folders()),
            // All earlier changes have been applied, so a request that waits for nothing else is answered at once.
            Message::Ask(question) => self.waiting.push(question),
        }
    }

    /// Length of the text that the editor has open.
    fn length(&self, path: &Path) -> usize {
        let now = self.workspace.now();
        let open = now.known(path).filter(|file| now.is_open(*file));
        let content = open.and_then(|file| now.content(file).ok().flatten());
        content.map_or(0, |(_, content)| content.text.len())
    }

    fn changed_on_disk(&mut self, files: &[PathBuf]) {
        for path in files {
            let invalidated = self.workspace.changed_on_disk(path);
            self.handle_invalidated(&invalidated);
        }
    }

    fn change_folders(&mut self, added: Vec<PathBuf>, removed: &[PathBuf]) {
        let mut folders = self.workspace.now().folders().to_vec();
        folders.retain(|folder| !removed.contains(folder));
        folders.extend(added);
        let invalidated = self.workspace.set_folders(folders);
        // Files that are no longer in any workspace folder.
        for file in &invalidated.changed {
            self.backlog.remove(*file);
        }
        self.handle_invalidated(&invalidated);
        self.scanner.scan(self.workspace.now().folders(), ScanReason::Asked);
    }

    fn lint(&mut self, work: Work) {
        let invalidated = match work {
            Work::File(file) => {
                let results = self.workspace.now().lint(file);
                if let Some(path) = self.workspace.now().path(file) {
                    let why = results.unreadable.as_ref();
                    let why = why.map(|why| format!("{}: {why}", path.display()));
                    self.tell_unreadable(&path, why);
                }
                self.workspace.put(results)
            }
            Work::Repository(root) => {
                for repository in self.workspace.now().repositories() {
                    if repository.root == root {
                        self.tell_unreadable(&repository.folder.join(SETTINGS), repository.unreadable.clone());
                    }
                }
                let findings = self.workspace.now().lint_repository(&root);
                self.workspace.put_across(&root, findings)
            }
        };
        self.handle_invalidated(&invalidated);
    }

    /// Logs once why a file cannot be read: it has no results, and must not look as if it were free of problems.
    fn tell_unreadable(&mut self, path: &Path, why: Option<String>) {
        let Some(why) = why else {
            self.unreadable.remove(path);
            return;
        };
        let before = self.unreadable.insert(path.to_owned(), why.clone());
        if before.as_ref() != Some(&why) {
            self.log(why);
        }
    }

    fn log(&self, message: String) {
        let client = self.client.clone();
        self.runtime
            .spawn(async move { client.log_message(MessageType::ERROR, message).await });
    }

    /// Publishes what has changed, and schedules the rest.
    fn handle_invalidated(&mut self, invalidated: &Invalidated) {
        let snapshot = self.workspace.now();
        self.backlog.add(invalidated, snapshot);
        let changed: BTreeSet<FileId> = invalidated.changed.iter().copied().collect();
        for file in changed {
            if let Some(diagnostics) = FileDiagnostics::of(snapshot, file, &self.session) {
                self.publisher.publish(diagnostics, snapshot.is_open(file));
            }
        }
    }
}

/// Whether a file is one that is read: an office, parts, or settings.
fn is_read(path: &Path) -> bool {
    let is_settings = path.file_name().is_some_and(|name| name == SETTINGS);
    is_settings || path.extension().is_some_and(|extension| extension == EXTENSION)
}
