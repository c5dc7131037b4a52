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

/// The path from a folder to what lies in it, once all links are followed. None if it does not lie in it.
///
/// # Errors
///
/// If one of the two is not there, or cannot be looked up.
pub(crate) fn path_from(folder: &Path, inner: &Path) -> io::Result<Option<PathBuf>> {
    // Both in the form that the system gives: on Windows [`canonical`] has another one for short paths than for long ones.
    let (folder, inner) = (folder.canonicalize()?, inner.canonicalize()?);
    Ok(inner.strip_prefix(folder).ok().map(Path::to_owned))
}
