use std::io;
use std::path::{Path, PathBuf};

/// An absolute path without links. On Windows it is in the usual form `C:\offices` where possible: git, for example,
/// cannot run in `\\?\C:\offices`.
///
/// # Errors
///
/// If it does not exist or cannot be accessed.
pub fn canonical(path: &Path) -> io::Result<PathBuf> {
    dunce::canonicalize(path)
}

/// Path of `inner` relative to `folder`, after all links are followed. `None` if it is not inside.
///
/// # Errors
///
/// If one of the two does not exist or cannot be accessed.
pub(crate) fn path_from(folder: &Path, inner: &Path) -> io::Result<Option<PathBuf>> {
    // Both in the form that the system returns: on Windows, [`canonical`] uses different forms for short and long
    // paths.
    let (folder, inner) = (folder.canonicalize()?, inner.canonicalize()?);
    Ok(inner.strip_prefix(folder).ok().map(Path::to_owned))
}
