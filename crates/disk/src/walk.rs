//! Finds the files that are meant, and hands each to a worker.

use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use ignore::{WalkBuilder, WalkState};

use crate::EXTENSION;

/// What the walk finds.
pub enum Found<'p> {
    /// A file to be read, and the folder that the user named to find it.
    File {
        /// The path of the file that was found.
        path: &'p Path,
        /// The folder that was named.
        start: &'p Path,
    },
    /// The reason why something cannot be read, in words.
    Trouble(String),
}

/// Calls `visit` once for each file that `paths` mean: a file as it is, a folder for every office file in it that no
/// ignore file excludes. `visit` is called from several threads at once, as many as are asked for or else one for each
/// processor; a `state` for each is made by `state` and given to `finish` in the end.
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
    for start in paths {
        if !start.is_dir() {
            let mut state = state();
            visit(
                &mut state,
                Found::File {
                    path: start,
                    start: start.parent().unwrap_or(Path::new("")),
                },
            );
            end(state);
            continue;
        }
        let walker = WalkBuilder::new(start)
            .follow_links(true)
            .require_git(false)
            .threads(threads)
            .build_parallel();
        let visit = &visit;
        walker.run(|| {
            let mut worker = Worker {
                state: Some(state()),
                end: &end,
            };
            Box::new(move |entry| {
                let visit = |found, worker: &mut Worker<'_, S>| {
                    if let Some(state) = &mut worker.state {
                        visit(state, found);
                    }
                };
                match entry {
                    Ok(entry) => {
                        if let Some(error) = entry.error() {
                            visit(Found::Trouble(error.to_string()), &mut worker);
                        }
                        let path = entry.path();
                        let is_office = path.extension().is_some_and(|extension| extension == EXTENSION);
                        if is_office && entry.file_type().is_some_and(|kind| kind.is_file()) {
                            let path = path.strip_prefix("./").unwrap_or(path);
                            visit(Found::File { path, start }, &mut worker);
                        }
                    }
                    Err(error) => visit(Found::Trouble(error.to_string()), &mut worker),
                }
                WalkState::Continue
            })
        });
    }
}

/// The office files that a path means, in the order of their paths. What cannot be read is added to `troubles`.
pub fn find(path: &Path, troubles: &mut Vec<String>) -> Vec<PathBuf> {
    let mut all = Vec::new();
    walk(
        &[path.to_owned()],
        None,
        || (Vec::new(), Vec::new()),
        |(files, failed), found| match found {
            Found::File { path, .. } => files.push(path.to_owned()),
            Found::Trouble(trouble) => failed.push(trouble),
        },
        |(files, failed)| {
            all.extend(files);
            troubles.extend(failed);
        },
    );
    all.sort();
    all
}

/// Hands a worker's state over when its thread lets go of it.
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
