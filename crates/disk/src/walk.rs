//! Finds the selected files and passes each to a worker.

use std::collections::{BTreeSet, HashSet};
use std::io;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use ignore::{DirEntry, WalkBuilder, WalkState};

use crate::file_kind::{not_a_file, trouble};
use crate::ignored::{require_ignore_files, require_ignore_files_around};
use crate::links::{ResolvedPath, follow};
use crate::{EXTENSION, SETTINGS};

/// Something found in a walk.
pub enum Found<'p> {
    /// A file to read, and the path given by the user that led to it.
    File {
        /// Path of the file found.
        path: &'p Path,
        /// Path at which the walk began.
        start: &'p Path,
    },
    /// A link to a file; the file is also reported by its own path.
    Link {
        /// Path of the link.
        path: &'p Path,
        /// Path of the file.
        file: &'p Path,
    },
    /// A folder given by the user that contains no file to read.
    Nothing {
        /// Path at which the walk began.
        start: &'p Path,
    },
    /// Message about something that cannot be read.
    Trouble(String),
}

/// Calls `visit` once for each file selected by `paths`: files themselves, and for folders every office file in them
/// that no ignore file excludes. A file is visited once, however many links and arguments lead to it. `visit` is called
/// concurrently from `threads` threads, by default one per processor. Each has a state made by `state`, which is passed
/// to `finish` at the end.
pub fn walk<S: Send>(
    paths: &[PathBuf],
    threads: Option<NonZeroUsize>,
    state: impl Fn() -> S + Sync,
    visit: impl Fn(&mut S, Found<'_>) + Sync,
    finish: impl FnMut(S) + Send,
) {
    let finish = Mutex::new(finish);
    let end = |state: S| {
        if let Ok(mut finish) = finish.lock() {
            finish(state);
        }
    };
    let threads = threads.or_else(|| std::thread::available_parallelism().ok());
    let threads = threads.map_or(1, NonZeroUsize::get);
    let reached = WalkProgress::default();
    for start in paths {
        if is_folder(start) {
            match follow(start, None) {
                Ok(meant) => {
                    reached.empty(start);
                    folder(&meant, start, threads, &state, &visit, &end, &reached);
                }
                Err(error) => one(&state, &visit, &end, Found::Trouble(named(start, &error))),
            }
        } else if start.is_symlink() {
            reached.link(start, start);
        } else {
            file(start, start, &state, &visit, &end, &reached);
        }
    }
    // Links come last, so that files are found by their own paths first, and in a fixed order independent of threads.
    while let Some((link, start)) = reached.next_link() {
        match leads_to(&link, &start) {
            Ok(None) => {}
            Ok(Some(meant)) if meant.real.is_dir() => {
                folder(&meant, &start, threads, &state, &visit, &end, &reached);
            }
            Ok(Some(meant)) => {
                let path = if is_office(&meant.path) { &meant.path } else { &link };
                let link = Found::Link {
                    path: &link,
                    file: path,
                };
                one(&state, &visit, &end, link);
                reached.not_empty(&start);
                file(path, &start, &state, &visit, &end, &reached);
            }
            Err(error) => one(&state, &visit, &end, Found::Trouble(named(&link, &error))),
        }
    }
    for start in reached.still_empty() {
        one(&state, &visit, &end, Found::Nothing { start: &start });
    }
}

/// Visits the files in a folder, and stores the links in it for later.
fn folder<S: Send>(
    meant: &ResolvedPath,
    start: &Path,
    threads: usize,
    state: &(impl Fn() -> S + Sync),
    visit: &(impl Fn(&mut S, Found<'_>) + Sync),
    end: &(dyn Fn(S) + Sync),
    reached: &WalkProgress,
) {
    let refused = |path: &Path, error: &io::Error| one(state, visit, end, Found::Trouble(named(path, error)));
    if let Err(error) = require_ignore_files_around(&meant.path) {
        refused(start, &error);
        return;
    }
    let troubles = Arc::new(Mutex::new(Vec::new()));
    let (boundary, unsearched) = (start.to_owned(), Arc::clone(&troubles));
    let is_searched = move |entry: &DirEntry| {
        if !entry.file_type().is_some_and(|kind| kind.is_dir()) {
            return true;
        }
        let outcome = require_ignore_files(entry.path(), Some(&boundary));
        let is_fine = outcome.is_ok();
        if let Err(error) = outcome {
            let mut unsearched = unsearched.lock().unwrap_or_else(PoisonError::into_inner);
            unsearched.push((entry.path().to_owned(), error));
        }
        is_fine
    };
    let walker = WalkBuilder::new(&meant.path)
        .follow_links(false)
        .require_git(false)
        .threads(threads)
        .filter_entry(is_searched)
        .build_parallel();
    walker.run(|| {
        let mut worker = Worker {
            state: Some(state()),
            end,
        };
        Box::new(move |entry| {
            let Some(state) = &mut worker.state else {
                return WalkState::Quit;
            };
            match entry {
                Ok(entry) => found(&entry, meant, start, reached, |found| visit(state, found)),
                Err(error) => visit(state, Found::Trouble(error.to_string())),
            }
            WalkState::Continue
        })
    });
    let troubles = troubles.lock().unwrap_or_else(PoisonError::into_inner);
    for (path, error) in troubles.iter() {
        refused(path.strip_prefix("./").unwrap_or(path), error);
    }
}

fn found(
    entry: &DirEntry,
    meant: &ResolvedPath,
    start: &Path,
    reached: &WalkProgress,
    mut visit: impl FnMut(Found<'_>),
) {
    if let Some(error) = entry.error() {
        visit(Found::Trouble(error.to_string()));
    }
    let path = entry.path();
    let shown = path.strip_prefix("./").unwrap_or(path);
    let Some(kind) = entry.file_type() else { return };
    if entry.depth() == 0 || kind.is_dir() {
        return;
    }
    if kind.is_symlink() {
        reached.link(shown, start);
    } else if is_office(path) {
        let inner = path.strip_prefix(&meant.path).unwrap_or(path);
        reached.not_empty(start);
        if kind.is_file() {
            if reached.is_new(meant.real.join(inner)) {
                visit(Found::File { path: shown, start });
            }
        } else if let Some(error) = entry.metadata().ok().as_ref().and_then(not_a_file) {
            visit(Found::Trouble(named(shown, &error)));
        }
    }
}

/// Visits a file given by the user. Whether it can be read is found out later.
fn file<S: Send>(
    path: &Path,
    start: &Path,
    state: &impl Fn() -> S,
    visit: &impl Fn(&mut S, Found<'_>),
    end: &dyn Fn(S),
    reached: &WalkProgress,
) {
    let real = crate::canonical(path).unwrap_or_else(|_| path.to_owned());
    if reached.is_new(real) {
        one(state, visit, end, Found::File { path, start });
    }
}

fn one<S: Send>(state: &impl Fn() -> S, visit: &impl Fn(&mut S, Found<'_>), end: &dyn Fn(S), found: Found<'_>) {
    let mut state = state();
    visit(&mut state, found);
    end(state);
}

/// Target of a link, if a walk from `start` should visit it.
fn leads_to(link: &Path, start: &Path) -> io::Result<Option<ResolvedPath>> {
    let folder = link.parent().unwrap_or(Path::new(""));
    let boundary = if link == start { folder } else { start };
    // Problems with settings are reported where they are read.
    if link.file_name().is_some_and(|name| name == SETTINGS) && link != start {
        return Ok(None);
    }
    let is_folder = is_folder(link);
    if !is_folder && !is_office(link) && link != start && link.metadata().is_ok() {
        return Ok(None);
    }
    let meant = follow(link, Some(boundary))?;
    let is_around = is_folder && crate::canonical(crate::disk::or_here(folder))?.starts_with(&meant.real);
    if is_around {
        return Err(trouble(format!(
            "it is a link to {}, which it lies in: a loop",
            meant.real.display()
        )));
    }
    Ok(Some(meant))
}

fn is_folder(path: &Path) -> bool {
    crate::disk::or_here(path).is_dir()
}

fn is_office(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension == EXTENSION)
}

fn named(path: &Path, error: &io::Error) -> String {
    format!("{}: {error}", path.display())
}

/// State of a walk.
#[derive(Default)]
struct WalkProgress {
    /// Visited files, by paths without links.
    files: Mutex<HashSet<PathBuf>>,
    /// Links still to be followed, each with the path given by the user.
    links: Mutex<BTreeSet<(PathBuf, PathBuf)>>,
    followed: Mutex<HashSet<PathBuf>>,
    /// Folders given by the user in which nothing has been found yet.
    empty: Mutex<BTreeSet<PathBuf>>,
}

impl WalkProgress {
    fn is_new(&self, real: PathBuf) -> bool {
        self.files.lock().unwrap_or_else(PoisonError::into_inner).insert(real)
    }

    fn link(&self, path: &Path, start: &Path) {
        let mut links = self.links.lock().unwrap_or_else(PoisonError::into_inner);
        links.insert((path.to_owned(), start.to_owned()));
    }

    fn empty(&self, start: &Path) {
        let mut empty = self.empty.lock().unwrap_or_else(PoisonError::into_inner);
        empty.insert(start.to_owned());
    }

    fn not_empty(&self, start: &Path) {
        let mut empty = self.empty.lock().unwrap_or_else(PoisonError::into_inner);
        empty.remove(start);
    }

    fn still_empty(self) -> BTreeSet<PathBuf> {
        self.empty.into_inner().unwrap_or_else(PoisonError::into_inner)
    }

    /// Takes a link that has not been followed yet.
    fn next_link(&self) -> Option<(PathBuf, PathBuf)> {
        loop {
            let next = self.links.lock().unwrap_or_else(PoisonError::into_inner).pop_first()?;
            let mut followed = self.followed.lock().unwrap_or_else(PoisonError::into_inner);
            if followed.insert(next.0.clone()) {
                return Some(next);
            }
        }
    }
}

/// Result of a walk.
#[derive(Debug, Default)]
pub struct Files {
    /// Office files, in the order of the given paths and, below each of them, by path.
    pub files: Vec<PathBuf>,
    /// Links to some of them, each with its file.
    pub links: Vec<(PathBuf, PathBuf)>,
    /// Folders given that contain none.
    pub empty: Vec<PathBuf>,
    /// Messages about what cannot be read.
    pub troubles: Vec<String>,
}

/// Finds the office files selected by `paths`.
pub fn find(paths: &[PathBuf]) -> Files {
    let order = |start: &Path| paths.iter().position(|named| named == start);
    let mut all = Files::default();
    let mut ordered = Vec::new();
    walk(
        paths,
        None,
        || (Vec::new(), Files::default()),
        |(files, others), found| match found {
            Found::File { path, start } => files.push((order(start), path.to_owned())),
            Found::Link { path, file } => others.links.push((path.to_owned(), file.to_owned())),
            Found::Nothing { start } => others.empty.push(start.to_owned()),
            Found::Trouble(trouble) => others.troubles.push(trouble),
        },
        |(files, others)| {
            ordered.extend(files);
            all.links.extend(others.links);
            all.empty.extend(others.empty);
            all.troubles.extend(others.troubles);
        },
    );
    ordered.sort();
    all.files = ordered.into_iter().map(|(_, path)| path).collect();
    all.links.sort();
    all.troubles.sort();
    all
}

/// Passes on a worker's state when its thread ends.
struct Worker<'e, S> {
    state: Option<S>,
    end: &'e (dyn Fn(S) + Sync),
}

impl<S> Drop for Worker<'_, S> {
    fn drop(&mut self) {
        if let Some(state) = self.state.take() {
            (self.end)(state);
        }
    }
}
