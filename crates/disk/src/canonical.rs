use std::io;
use std::path::{Path, PathBuf};

/// A path without links, from the top of the disk. On Windows it is in the form that people and other programs write, `C:\offices`,
/// wherever that form can say it: git, for one, cannot start in `\\?\C:\offices`.
///
/// # Errors
///
/// If nothing is there, or it cannot be looked up.
pub fn canonical(path: &Path) -> io::Result<PathBuf> {
    dunce::canonicalize(path)
}
