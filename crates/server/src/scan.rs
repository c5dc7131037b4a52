//! Finding the offices of the editor's folders, once at the start and again where nobody tells of changes.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

use drysheath_disk::{Found, SETTINGS, walk};
use drysheath_office::Date;
use tokio::sync::oneshot;
use tower_lsp::Client;
use tower_lsp::lsp_types::notification::Progress;
use tower_lsp::lsp_types::request::WorkDoneProgressCreate;
use tower_lsp::lsp_types::{
    NumberOrString, ProgressParams, ProgressParamsValue, WorkDoneProgress, WorkDoneProgressBegin,
    WorkDoneProgressCreateParams, WorkDoneProgressEnd,
};

use crate::session::Session;
use crate::worker::{Message, Queue};

/// When a file was last changed, and how long it is.
type Stamp = (Option<SystemTime>, u64);

/// Walks the editor's folders on threads of their own.
pub(crate) struct Scanner {
    queue: Queue,
    client: Client,
    session: Arc<Session>,
    runtime: tokio::runtime::Handle,
    /// The stamps of the last walk, by file. Whoever walks holds them, so that two walks do not mix.
    stamps: Arc<Mutex<HashMap<PathBuf, Stamp>>>,
    walked: AtomicBool,
}

impl Scanner {
    pub fn new(queue: Queue, client: Client, session: Arc<Session>) -> Self {
        Self {
            queue,
            client,
            session,
            runtime: tokio::runtime::Handle::current(),
            stamps: Arc::default(),
            walked: AtomicBool::new(false),
        }
    }

    /// Walks the folders, and puts what it finds into the queue: all files, those that changed since the last walk, and that
    /// it is over.
    pub fn rescan(&self, folders: &[PathBuf]) {
        let (folders, stamps) = (folders.to_vec(), Arc::clone(&self.stamps));
        let first = !self.walked.swap(true, Ordering::Relaxed);
        let is_worth_showing = first && self.session.capabilities().progress && !folders.is_empty();
        // Nothing waits for the client's word here.
        let shown = is_worth_showing.then(|| Shown::begin(&self.runtime, self.client.clone()));
        let over = Over(self.queue.clone());
        self.runtime.spawn_blocking(move || {
            let queue = &over.0;
            let mut known = stamps.lock().unwrap_or_else(PoisonError::into_inner);
            for folder in folders {
                let found = files_below(&folder);
                let changed: Vec<PathBuf> = changed_since(&known, &found, &folder);
                known.retain(|path, _| !path.starts_with(&folder) || found.contains_key(path));
                let files: Vec<PathBuf> = sorted(found.keys());
                known.extend(found);
                if !first && !changed.is_empty() {
                    queue.send(Message::OnDisk(changed));
                }
                queue.send(Message::Found { folder, files });
            }
            drop(shown);
        });
    }
}

/// Tells the queue that a walk is over, however it ended.
struct Over(Queue);

impl Drop for Over {
    fn drop(&mut self) {
        self.0.send(Message::Walked);
    }
}

fn sorted<'p>(paths: impl Iterator<Item = &'p PathBuf>) -> Vec<PathBuf> {
    let mut sorted: Vec<PathBuf> = paths
        .filter(|path| path.file_name().is_none_or(|name| name != SETTINGS))
        .cloned()
        .collect();
    sorted.sort();
    sorted
}

fn files_below(folder: &Path) -> HashMap<PathBuf, Stamp> {
    let mut found = HashMap::new();
    walk(
        &[folder.to_owned()],
        None,
        HashMap::new,
        |files: &mut HashMap<PathBuf, Stamp>, entry| {
            if let Found::File { path, .. } = entry {
                files.insert(path.to_owned(), stamp(path));
                // Settings stand beside or above offices.
                for above in path.ancestors().skip(1).take_while(|above| above.starts_with(folder)) {
                    let settings = above.join(SETTINGS);
                    if !files.contains_key(&settings) && settings.is_file() {
                        let stamp = stamp(&settings);
                        files.insert(settings, stamp);
                    }
                }
            }
        },
        |files| found.extend(files),
    );
    found
}

fn stamp(path: &Path) -> Stamp {
    let metadata = path.metadata().ok();
    let changed = metadata.as_ref().and_then(|metadata| metadata.modified().ok());
    (changed, metadata.map_or(0, |metadata| metadata.len()))
}

fn changed_since(before: &HashMap<PathBuf, Stamp>, now: &HashMap<PathBuf, Stamp>, folder: &Path) -> Vec<PathBuf> {
    let new = now.iter().filter(|(path, stamp)| before.get(*path) != Some(stamp));
    let gone = before
        .keys()
        .filter(|path| path.starts_with(folder) && !now.contains_key(*path));
    let mut changed: Vec<PathBuf> = new.map(|(path, _)| path.clone()).chain(gone.cloned()).collect();
    changed.sort();
    changed
}

/// A walk that the client shows for as long as this lives.
struct Shown {
    _ends: oneshot::Sender<()>,
}

impl Shown {
    fn begin(runtime: &tokio::runtime::Handle, client: Client) -> Self {
        let (ends, ended) = oneshot::channel::<()>();
        runtime.spawn(async move {
            let token = NumberOrString::String("drysheath-walk".to_owned());
            let create = WorkDoneProgressCreateParams { token: token.clone() };
            if client.send_request::<WorkDoneProgressCreate>(create).await.is_err() {
                return;
            }
            let begin = WorkDoneProgressBegin {
                title: "Finding offices".to_owned(),
                ..WorkDoneProgressBegin::default()
            };
            progress(&client, token.clone(), WorkDoneProgress::Begin(begin)).await;
            let _ = ended.await;
            let end = WorkDoneProgressEnd { message: None };
            progress(&client, token, WorkDoneProgress::End(end)).await;
        });
        Self { _ends: ends }
    }
}

async fn progress(client: &Client, token: NumberOrString, value: WorkDoneProgress) {
    let value = ProgressParamsValue::WorkDone(value);
    client
        .send_notification::<Progress>(ProgressParams { token, value })
        .await;
}

/// The day by which acceptances are judged.
pub(crate) fn today() -> Date {
    let day = jiff::Zoned::now().date();
    Date {
        year: day.year().try_into().unwrap_or_default(),
        month: day.month().try_into().unwrap_or_default(),
        day: day.day().try_into().unwrap_or_default(),
    }
}
