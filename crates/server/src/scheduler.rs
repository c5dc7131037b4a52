//! The thread that owns the workspace.
//!
//! It applies messages in the order in which they came and gives each question a snapshot. When no message waits, it lints one
//! file and then looks for messages again: an edit never waits for more than one file. What only all files of a repository
//! together give takes longer the more files there are, so it waits for a pause between messages ([`PAUSE`]). The thread
//! answers no question itself, and waits for nothing but the queue.

use std::collections::{BTreeSet, HashMap};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError};
use std::time::Duration;

use drysheath_disk::{Disk, EXTENSION, SETTINGS};
use drysheath_text::FileId;
use drysheath_workspace::{Content, Dirtied, Workspace};
use tower_lsp::Client;
use tower_lsp::lsp_types::MessageType;

use crate::backlog::{Backlog, Work};
use crate::diagnostics::{FileDiagnostics, Publisher};
use crate::memory::{LARGE, give_back};
use crate::pool::panic_message;
use crate::protocol::Notifier;
use crate::queue::{After, Message, Question, Queue};
use crate::scan::{Scanner, Why, today};
use crate::session::Session;

/// How long no message must come before the rules that need all files run: longer than an editor takes from one change to the
/// next when it pastes or repeats a key, and too short for anybody to notice.
const PAUSE: Duration = Duration::from_millis(20);

/// What the thread does at a time.
enum Step {
    Apply(Message),
    Lint(Work),
}

/// The state of the thread.
pub(crate) struct Scheduler {
    workspace: Workspace,
    backlog: Backlog,
    scanner: Scanner,
    publisher: Publisher,
    client: Client,
    session: Arc<Session>,
    runtime: tokio::runtime::Handle,
    /// What was last said of each file that cannot be read.
    unreadable: HashMap<PathBuf, String>,
    /// What the last scan could not read.
    troubles: BTreeSet<String>,
    /// Questions that wait for results.
    waiting: Vec<Question>,
}

impl Scheduler {
    /// Starts the thread. It ends with the last sender of messages.
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
            // A panic costs the results of one file, and nothing else.
            let done = catch_unwind(AssertUnwindSafe(|| match step {
                Step::Apply(message) => self.apply(message),
                Step::Lint(work) => self.lint(work),
            }));
            if let Err(panic) = done {
                self.log(panic_message(&*panic));
            }
        }
    }

    /// What is to be done next; messages go before linting. `None` once no more messages can come.
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
        // A question about all files waits for what they give, so that it is not kept waiting longer.
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

    /// Gives a snapshot to each question that has waited for results which are there by now.
    fn answer_waiting(&mut self) {
        let Self {
            workspace,
            backlog,
            scanner,
            waiting,
            ..
        } = self;
        let is_ready = |question: &mut Question| match &question.after {
            After::Nothing => true,
            After::Results(path) => workspace.now().known(path).is_none_or(|file| !backlog.contains(file)),
            After::Everything => scanner.is_idle() && backlog.is_empty(),
        };
        for question in waiting.extract_if(.., is_ready) {
            // A question that was cancelled has no receiver.
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
                let (_, dirtied) = self.workspace.set_buffer(&path, Some(version), content);
                self.dirty(&dirtied);
            }
            Message::Change {
                path,
                version,
                changes,
                encoding,
            } => {
                if let Some((_, dirtied)) = self.workspace.edit(&path, version, changes, encoding) {
                    self.dirty(&dirtied);
                }
            }
            Message::Close(path) => {
                let is_large = self.length(&path) > LARGE;
                if let Some((_, dirtied)) = self.workspace.close(&path) {
                    self.dirty(&dirtied);
                }
                if is_large {
                    give_back(&self.runtime);
                }
            }
            Message::ChangedOnDisk(paths) => {
                let (files, others): (Vec<_>, Vec<_>) = paths.into_iter().partition(|path| is_read(path));
                self.changed_on_disk(&files);
                // Of a folder that appeared or vanished, the files in it are not named.
                if !others.is_empty() {
                    self.scanner.scan(self.workspace.now().folders(), Why::Changed(others));
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
                // Some may have been removed since the scan began.
                folders.retain(|folder| self.workspace.now().folders().contains(folder));
                for paths in [&mut files, &mut changed] {
                    paths.retain(|path| folders.iter().any(|folder| path.starts_with(folder)));
                }
                self.changed_on_disk(&changed);
                let dirtied = self.workspace.found(&folders, files);
                self.dirty(&dirtied);
            }
            Message::Rescan if self.session.capabilities().watches => {}
            Message::Rescan => self.scanner.scan(self.workspace.now().folders(), Why::Asked),
            Message::Scanned => self.scanner.ended(self.workspace.now().folders()),
            // All changes before it have been applied, so that one which waits for nothing else is answered at once.
            Message::Ask(question) => self.waiting.push(question),
        }
    }

    /// The length of the text that an editor has open.
    fn length(&self, path: &Path) -> usize {
        let now = self.workspace.now();
        let open = now.known(path).filter(|file| now.is_open(*file));
        let content = open.and_then(|file| now.content(file).ok().flatten());
        content.map_or(0, |(_, content)| content.text.len())
    }

    fn changed_on_disk(&mut self, files: &[PathBuf]) {
        for path in files {
            let dirtied = self.workspace.changed_on_disk(path);
            self.dirty(&dirtied);
        }
    }

    fn change_folders(&mut self, added: Vec<PathBuf>, removed: &[PathBuf]) {
        let mut folders = self.workspace.now().folders().to_vec();
        folders.retain(|folder| !removed.contains(folder));
        folders.extend(added);
        let dirtied = self.workspace.set_folders(folders);
        // Files that lie in none of the folders any more.
        for file in &dirtied.changed {
            self.backlog.remove(*file);
        }
        self.dirty(&dirtied);
        self.scanner.scan(self.workspace.now().folders(), Why::Asked);
    }

    fn lint(&mut self, work: Work) {
        let dirtied = match work {
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
        self.dirty(&dirtied);
    }

    /// Logs once why a file cannot be read: it has no results, which must not look as if it were clean.
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

    /// Publishes what has changed, and plans the rest.
    fn dirty(&mut self, dirtied: &Dirtied) {
        let snapshot = self.workspace.now();
        self.backlog.add(dirtied, snapshot);
        let changed: BTreeSet<FileId> = dirtied.changed.iter().copied().collect();
        for file in changed {
            if let Some(diagnostics) = FileDiagnostics::of(snapshot, file, &self.session) {
                self.publisher.publish(diagnostics, snapshot.is_open(file));
            }
        }
    }
}

/// Whether a path is that of a file that is read: an office, parts, or settings.
fn is_read(path: &Path) -> bool {
    let is_settings = path.file_name().is_some_and(|name| name == SETTINGS);
    is_settings || path.extension().is_some_and(|extension| extension == EXTENSION)
}
