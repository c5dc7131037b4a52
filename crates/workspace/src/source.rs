use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_syntax::Problem;

/// Content of a file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Content {
    /// Text, cut before the first invalid UTF-8 or at the size limit.
    pub text: Arc<str>,
    /// A problem of its bytes.
    pub problem: Option<Problem>,
}

/// A source of files: a disk, or a tree in memory. Texts open in an editor take precedence over it.
pub trait FileSource: Send + Sync {
    /// Reads a file. `None` if it does not exist. Without settings above it, no link may lead out of `folder`.
    ///
    /// # Errors
    ///
    /// A message if the file exists but cannot be read.
    fn read(&self, path: &Path, folder: &Path) -> Result<Option<Content>, String>;

    /// The folders at or above `folder` whose settings apply to it, the nearest first. The last is the root of its
    /// repository.
    fn settings_above(&self, folder: &Path) -> Vec<PathBuf>;

    /// The path with all links resolved. `None` if it does not exist.
    fn real_path(&self, path: &Path) -> Option<PathBuf>;

    /// Whether a path is itself a link, wherever that leads.
    fn is_link(&self, _path: &Path) -> bool {
        false
    }

    /// The path of the file that `path` leads to by a link, within its repository or else within `folder`. `None` if
    /// there is no link.
    fn followed(&self, _path: &Path, _folder: &Path) -> Option<PathBuf> {
        None
    }

    /// The files of this language in `folder` below `root`, as in a `use`, sorted, for suggestions.
    fn names_in(&self, root: &Path, folder: &str) -> Vec<String>;
}
