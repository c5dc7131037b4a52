//! The thread that owns the world. It takes messages in the order in which they came, looks at one file between two
//! messages, and hands what has changed to the publisher. It waits for nobody but the queue.

use std::collections::{BTreeSet, VecDeque};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};
use std::sync::{Mutex, PoisonError};

use drysheath_ide::{Change, World};
use drysheath_text::{Encoding, FileId};
use tokio::sync::oneshot;
use tower_lsp::Client;
use tower_lsp::lsp_types::MessageType;

use crate::diagnostics::{Published, Publisher};
use crate::disk::LocalDisk;
use crate::scan::{Scanner, today};
use crate::session::Session;

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
    /// Files that changed, came or went outside the editor.
    OnDisk(Vec<PathBuf>),
    Folders {
        added: Vec<PathBuf>,
        removed: Vec<PathBuf>,
    },
    /// All files below a folder.
    Found {
        folder: PathBuf,
        files: Vec<PathBuf>,
    },
    /// Look at the folders again, if nobody watches them.
    Rescan,
    /// A walk over folders is over.
    Walked,
    /// Something to be done with the world as it is after all messages before this one.
    Ask(Question),
    /// Something to be done with the world once all files are known and have been looked at.
    AskAll(Question),
}

type Question = Box<dyn FnOnce(&mut World) + Send>;

/// The way into the queue.
#[derive(Clone, Debug)]
pub(crate) struct Queue(Sender<Message>);

impl Queue {
    /// Puts a message at the end of the queue. Once the worker is gone, nobody reads it.
    pub fn send(&self, message: Message) {
        let _ = self.0.send(message);
    }

    /// The answer to a question about the world as it is after all messages before. None if answering failed.
    pub async fn ask<T: Send + 'static>(&self, question: impl FnOnce(&mut World) -> T + Send + 'static) -> Option<T> {
        self.ask_as(Message::Ask, question).await
    }

    /// The answer to a question about all files, which waits until they are known. None if answering failed.
    pub async fn ask_all<T: Send + 'static>(
        &self,
        question: impl FnOnce(&mut World) -> T + Send + 'static,
    ) -> Option<T> {
        self.ask_as(Message::AskAll, question).await
    }

    async fn ask_as<T: Send + 'static>(
        &self,
        message: fn(Question) -> Message,
        question: impl FnOnce(&mut World) -> T + Send + 'static,
    ) -> Option<T> {
        let (answer, answered) = oneshot::channel();
        self.send(message(Box::new(move |world| {
            // A question that was cancelled has nobody who listens.
            if !answer.is_closed() {
                let _ = answer.send(question(world));
            }
        })));
        answered.await.ok()
    }
}

/// The worker before it runs.
pub(crate) struct Worker {
    inbox: Mutex<Option<Receiver<Message>>>,
    queue: Queue,
    session: Arc<Session>,
}

impl Worker {
    pub fn new(session: Arc<Session>) -> (Queue, Self) {
        let (sender, receiver) = channel();
        let queue = Queue(sender);
        let worker = Self {
            inbox: Mutex::new(Some(receiver)),
            queue: queue.clone(),
            session,
        };
        (queue, worker)
    }

    /// Starts the thread. It ends with the last sender of messages.
    pub fn start(&self, client: Client) {
        let Some(inbox) = self.inbox.lock().unwrap_or_else(PoisonError::into_inner).take() else {
            return;
        };
        let publisher = Publisher::new(client.clone(), Arc::clone(&self.session));
        let desk = Desk {
            world: World::new(Box::new(LocalDisk), today()),
            scanner: Scanner::new(self.queue.clone(), client.clone(), Arc::clone(&self.session)),
            publisher,
            client,
            runtime: tokio::runtime::Handle::current(),
            walks: 0,
            held: VecDeque::new(),
        };
        std::thread::spawn(move || desk.run(&inbox));
    }
}

struct Desk {
    world: World,
    scanner: Scanner,
    publisher: Publisher,
    client: Client,
    runtime: tokio::runtime::Handle,
    /// Walks over folders that are not over.
    walks: usize,
    /// Questions about all files that wait until they are known.
    held: VecDeque<Question>,
}

impl Desk {
    fn run(mut self, inbox: &Receiver<Message>) {
        loop {
            let message = if self.world.is_waiting() {
                match inbox.try_recv() {
                    Ok(message) => Some(message),
                    Err(TryRecvError::Empty) => None,
                    Err(TryRecvError::Disconnected) => return,
                }
            } else if self.walks == 0
                && let Some(question) = self.held.pop_front()
            {
                Some(Message::Ask(question))
            } else {
                self.publisher.at_rest();
                match inbox.recv() {
                    Ok(message) => Some(message),
                    Err(_) => return,
                }
            };
            // One file, one question: a panic costs its answer and nothing else.
            let done = catch_unwind(AssertUnwindSafe(|| match message {
                Some(message) => self.take(message),
                None => self.look(),
            }));
            if let Err(panic) = done {
                self.tell(&format!(
                    "a fault inside, in which nothing was lost: {}",
                    words(&*panic)
                ));
            }
        }
    }

    fn tell(&self, message: &str) {
        let (client, message) = (self.client.clone(), message.to_owned());
        self.runtime
            .spawn(async move { client.log_message(MessageType::ERROR, message).await });
    }

    fn look(&mut self) {
        let Some(changed) = self.world.work() else { return };
        self.publish(changed);
    }

    fn publish(&mut self, changed: impl IntoIterator<Item = FileId>) {
        let files: BTreeSet<FileId> = changed.into_iter().collect();
        for file in files {
            if let Some(published) = Published::of(&self.world, file, self.publisher.session()) {
                self.publisher.publish(published, self.world.is_open(file));
            }
        }
    }

    fn walk(&mut self) {
        self.walks += 1;
        self.scanner.rescan(self.world.folders());
    }

    fn take(&mut self, message: Message) {
        match message {
            Message::Open { path, version, text } => {
                self.world.open(&path, version, &text);
            }
            Message::Change {
                path,
                version,
                changes,
                encoding,
            } => {
                self.world.change(&path, version, changes, encoding);
            }
            Message::Close(path) => {
                if let Some(file) = self.world.close(&path) {
                    self.publisher.closed(&path, self.world.version(file));
                }
            }
            Message::OnDisk(paths) => {
                for path in paths {
                    // A folder that came or went tells nothing of the files in it.
                    if path.extension().is_none() {
                        self.walk();
                    }
                    self.world.changed_on_disk(&path);
                }
            }
            Message::Folders { added, removed } => {
                let mut folders: Vec<PathBuf> = self.world.folders().to_vec();
                folders.retain(|folder| !removed.contains(folder));
                folders.extend(added);
                let left = self.world.set_folders(folders);
                self.publish(left);
                self.walk();
            }
            Message::Found { folder, files } => {
                // It may have been taken away since somebody went to look.
                if self.world.folders().contains(&folder) {
                    self.world.found(&folder, files);
                }
            }
            // A client that watches tells of every change by itself.
            Message::Rescan if self.publisher.session().capabilities().watches => {}
            Message::Rescan => self.walk(),
            Message::Walked => self.walks = self.walks.saturating_sub(1),
            Message::Ask(question) => question(&mut self.world),
            Message::AskAll(question) => self.held.push_back(question),
        }
    }
}

/// What a panic says.
pub(crate) fn words(panic: &(dyn std::any::Any + Send)) -> &str {
    panic
        .downcast_ref::<&str>()
        .copied()
        .or_else(|| panic.downcast_ref::<String>().map(String::as_str))
        .unwrap_or("no words")
}
