//! Scans of the editor's folders for offices: one at the start, and further ones where the client does not watch files.

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

use crate::queue::{Message, Queue};
use crate::session::Session;

/// When a file was last changed, and how long it is.
type Stamp = (Option<SystemTime>, u64);

/// Scans the editor's folders on the runtime's blocking threads.
pub(crate) struct Scanner {
    queue: Queue,
    client: Client,
    session: Arc<Session>,
    runtime: tokio::runtime::Handle,
    /// The stamps of the last scan, by file. A scan holds the lock, so that two scans do not interleave.
    stamps: Arc<Mutex<HashMap<PathBuf, Stamp>>>,
    has_scanned: AtomicBool,
}

impl Scanner {
    pub fn new(queue: Queue, client: Client, session: Arc<Session>) -> Self {
        Self {
            queue,
            client,
            session,
            runtime: tokio::runtime::Handle::current(),
            stamps: Arc::default(),
            has_scanned: AtomicBool::new(false),
        }
    }

    /// Scans the folders, and puts into the queue all files, those that changed since the last scan, and the end of the scan.
    pub fn scan(&self, folders: &[PathBuf]) {
        let (folders, stamps) = (folders.to_vec(), Arc::clone(&self.stamps));
        let first = !self.has_scanned.swap(true, Ordering::Relaxed);
        let is_shown = first && self.session.capabilities().progress && !folders.is_empty();
        let progress = is_shown.then(|| ProgressBar::begin(&self.runtime, self.client.clone()));
        let end = EndOfScan(self.queue.clone());
        self.runtime.spawn_blocking(move || {
            let queue = &end.0;
            let mut known = stamps.lock().unwrap_or_else(PoisonError::into_inner);
            for folder in folders {
                let found = files_below(&folder);
                let changed: Vec<PathBuf> = changed_since(&known, &found, &folder);
                known.retain(|path, _| !path.starts_with(&folder) || found.contains_key(path));
                let files: Vec<PathBuf> = sorted(found.keys());
                known.extend(found);
                if !first && !changed.is_empty() {
                    queue.send(Message::ChangedOnDisk(changed));
                }
                queue.send(Message::Found { folder, files });
            }
            drop(progress);
        });
    }
}

/// Reports the end of a scan when it is dropped, so that a panic reports it too.
struct EndOfScan(Queue);

impl Drop for EndOfScan {
    fn drop(&mut self) {
        self.0.send(Message::Scanned);
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
                // Settings lie beside or above offices.
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

/// A progress bar that the client shows for as long as this lives.
struct ProgressBar {
    _end: oneshot::Sender<()>,
}

impl ProgressBar {
    fn begin(runtime: &tokio::runtime::Handle, client: Client) -> Self {
        let (end, ended) = oneshot::channel::<()>();
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
            let done = WorkDoneProgressEnd { message: None };
            progress(&client, token, WorkDoneProgress::End(done)).await;
        });
        Self { _end: end }
    }
}

async fn progress(client: &Client, token: NumberOrString, value: WorkDoneProgress) {
    let value = ProgressParamsValue::WorkDone(value);
    client
        .send_notification::<Progress>(ProgressParams { token, value })
        .await;
}

/// The day that acceptances are judged by.
pub(crate) fn today() -> Date {
    let day = jiff::Zoned::now().date();
    Date {
        year: day.year().try_into().unwrap_or_default(),
        month: day.month().try_into().unwrap_or_default(),
        day: day.day().try_into().unwrap_or_default(),
    }
}
