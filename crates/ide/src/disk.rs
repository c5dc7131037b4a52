use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_syntax::Problem;

/// A file's text as the disk has it, and what is wrong with its bytes.
pub struct OnDisk {
    /// The text, as far as it is one.
    pub text: Arc<str>,
    /// What is wrong.
    pub problem: Option<Problem>,
}

/// Where files come from that no editor has open.
pub trait Disk: Send {
    /// A file's text. None if there is no such file.
    ///
    /// # Errors
    ///
    /// If the file is there and cannot be read; the words say why.
    fn read(&self, path: &Path) -> Result<Option<OnDisk>, String>;

    /// The nearest folder at or above `folder` that has settings.
    fn root_above(&self, folder: &Path) -> Option<PathBuf>;

    /// Whether a path leads out of `root`, by links or otherwise.
    fn is_outside(&self, path: &Path, root: &Path) -> bool;

    /// The file of parts below `root` whose name is nearest to `name`.
    fn similar(&self, root: &Path, name: &str) -> Option<String>;
}
