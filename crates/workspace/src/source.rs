use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_syntax::Problem;

/// What a file says.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Content {
    /// Its text; one that is not UTF-8 or too large is cut where that begins.
    pub text: Arc<str>,
    /// What is wrong with its bytes.
    pub problem: Option<Problem>,
}

/// Where files come from: a disk, or a tree that is held in memory. Texts that an editor has open lie over it.
pub trait FileSource: Send + Sync {
    /// A file's content. None if there is no such file. Where no settings are above it, no link may lead out of `folder`.
    ///
    /// # Errors
    ///
    /// If the file is there and cannot be read: the reason, in words.
    fn read(&self, path: &Path, folder: &Path) -> Result<Option<Content>, String>;

    /// The folders at or above `folder` whose settings hold in it, the nearest first. The last is the root of its repository.
    fn settings_above(&self, folder: &Path) -> Vec<PathBuf>;

    /// The path with all links followed. None if nothing is there.
    fn real_path(&self, path: &Path) -> Option<PathBuf>;

    /// The path of the file that `path` leads to by a link, within its repository or else within `folder`. None where no link
    /// is in between.
    fn followed(&self, _path: &Path, _folder: &Path) -> Option<PathBuf> {
        None
    }

    /// The files of this language in `folder` below `root`, as a `use` names them, in order: for a suggestion.
    fn names_in(&self, root: &Path, folder: &str) -> Vec<String>;
}
