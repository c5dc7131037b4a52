//! Scans the workspace folders for offices: once at the start, and again if the client does not watch files.

use std::collections::{BTreeSet, HashMap};
use std::path::{Path, PathBuf};
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

/// Modification time and length of a file.
type Stamp = (Option<SystemTime>, u64);

/// Reason for a scan.
pub(crate) enum ScanReason {
    /// Folders were added, or a file was saved in an editor that does not watch files.
    Asked,
    /// These paths changed, and none of them is a file that is read. Only relevant if one is or was a folder.
    Changed(Vec<PathBuf>),
}

/// Scans the workspace folders on one of the runtime's blocking threads, one scan at a time. All requests during a scan
/// are combined into one more scan.
pub(crate) struct Scanner {
    queue: Queue,
    client: Client,
    session: Arc<Session>,
    runtime: tokio::runtime::Handle,
    /// Stamps at the last scan, by file.
    stamps: Arc<Mutex<Stamps>>,
    has_scanned: bool,
    is_running: bool,
    next: Option<ScanReason>,
}

type Stamps = HashMap<PathBuf, Stamp>;

impl Scanner {
    pub fn new(queue: Queue, client: Client, session: Arc<Session>) -> Self {
        Self {
            queue,
            client,
            session,
            runtime: tokio::runtime::Handle::current(),
            stamps: Arc::default(),
            has_scanned: false,
            is_running: false,
            next: None,
        }
    }

    /// Whether no scan is running or requested.
    pub fn is_idle(&self) -> bool {
        !self.is_running
    }

    /// Scans the folders, now or after the running scan. Queues the files that changed since the last scan, all files,
    /// and the end of the scan.
    pub fn scan(&mut self, folders: &[PathBuf], why: ScanReason) {
        if self.is_running {
            self.next = Some(match (self.next.take(), why) {
                (Some(ScanReason::Asked), _) | (_, ScanReason::Asked) => ScanReason::Asked,
                (Some(ScanReason::Changed(mut before)), ScanReason::Changed(more)) => {
                    before.extend(more);
                    ScanReason::Changed(before)
                }
                (None, why) => why,
            });
            return;
        }
        self.is_running = true;
        let (folders, stamps) = (folders.to_vec(), Arc::clone(&self.stamps));
        let first = !std::mem::replace(&mut self.has_scanned, true);
        let is_shown = first && self.session.capabilities().progress && !folders.is_empty();
        let progress = is_shown.then(|| ProgressBar::begin(&self.runtime, self.client.clone()));
        let end = EndOfScan(self.queue.clone());
        self.runtime.spawn_blocking(move || {
            let queue = &end.0;
            if let ScanReason::Changed(paths) = why
                && !paths.iter().any(|path| may_be_folder(path))
            {
                return;
            }
            let mut known = stamps.lock().unwrap_or_else(PoisonError::into_inner);
            let (found, troubles) = files_below(&folders);
            let changed = if first {
                Vec::new()
            } else {
                changed_since(&known, &found)
            };
            let files: Vec<PathBuf> = sorted(found.keys());
            *known = found;
            queue.send(Message::Found {
                folders,
                files,
                changed,
                troubles,
            });
            drop(progress);
        });
    }

    /// The scan has ended. Starts the next one, if requested.
    pub fn ended(&mut self, folders: &[PathBuf]) {
        self.is_running = false;
        if let Some(why) = self.next.take() {
            self.scan(folders, why);
        }
    }
}

/// Whether a folder may have appeared at or vanished from a path.
fn may_be_folder(path: &Path) -> bool {
    path.symlink_metadata().map_or(true, |metadata| !metadata.is_file())
}

/// Reports the end of a scan when dropped, so that it is reported after a panic too.
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

/// The files below some folders, and messages about anything that cannot be read.
fn files_below(folders: &[PathBuf]) -> (Stamps, BTreeSet<String>) {
    let (mut found, mut troubles) = (Stamps::new(), BTreeSet::new());
    walk(
        folders,
        None,
        || (Stamps::new(), BTreeSet::new()),
        |(files, troubles): &mut (Stamps, BTreeSet<String>), entry| match entry {
            Found::File { path, start } => {
                files.insert(path.to_owned(), stamp(path));
                // Settings are beside or above offices.
                for above in path.ancestors().skip(1).take_while(|above| above.starts_with(start)) {
                    let settings = above.join(SETTINGS);
                    if !files.contains_key(&settings) && settings.is_file() {
                        let stamp = stamp(&settings);
                        files.insert(settings, stamp);
                    }
                }
            }
            Found::Trouble(trouble) => {
                troubles.insert(trouble);
            }
            _ => {}
        },
        |(files, failed)| {
            found.extend(files);
            troubles.extend(failed);
        },
    );
    (found, troubles)
}

fn stamp(path: &Path) -> Stamp {
    let metadata = path.metadata().ok();
    let changed = metadata.as_ref().and_then(|metadata| metadata.modified().ok());
    (changed, metadata.map_or(0, |metadata| metadata.len()))
}

fn changed_since(before: &Stamps, now: &Stamps) -> Vec<PathBuf> {
    let new = now.iter().filter(|(path, stamp)| before.get(*path) != Some(stamp));
    let gone = before.keys().filter(|path| !now.contains_key(*path));
    let mut changed: Vec<PathBuf> = new.map(|(path, _)| path).chain(gone).cloned().collect();
    changed.sort();
    changed
}

/// A progress bar that the client shows until this is dropped.
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

/// Date by which acceptances are judged.
pub(crate) fn today() -> Date {
    let day = jiff::Zoned::now().date();
    Date {
        year: day.year().try_into().unwrap_or_default(),
        month: day.month().try_into().unwrap_or_default(),
        day: day.day().try_into().unwrap_or_default(),
    }
}
