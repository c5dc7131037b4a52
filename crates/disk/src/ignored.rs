//! Ignore files of folders. A walk reads them itself, before it enters the folder.

use std::io::{self, ErrorKind};
use std::path::Path;

use crate::file_kind::{not_a_file, trouble};
use crate::links::follow;

/// Ignore files that are part of the tree.
const IN_TREE: [&str; 2] = [".ignore", ".gitignore"];

/// Ignore file of git itself. The folder `.git` may be elsewhere.
const BESIDE: &str = ".git/info/exclude";

/// Refuses a folder whose ignore files are not regular files, or lead out of the root or, without a root, of the folder
/// `named`.
pub(crate) fn require_ignore_files(folder: &Path, named: Option<&Path>) -> io::Result<()> {
    for name in IN_TREE {
        require_file(folder, name, |path| follow(path, named).map(|_| ()))?;
    }
    require_file(folder, BESIDE, |_| Ok(()))
}

/// Same check for a walked folder and all folders around it, whose ignore files also apply.
pub(crate) fn require_ignore_files_around(folder: &Path) -> io::Result<()> {
    let whole = crate::canonical(folder)?;
    whole
        .ancestors()
        .try_for_each(|above| require_ignore_files(above, None))
}

fn require_file(folder: &Path, name: &str, follows: impl Fn(&Path) -> io::Result<()>) -> io::Result<()> {
    let path = folder.join(name);
    let checked = match path.metadata() {
        Ok(metadata) => not_a_file(&metadata).map_or(Ok(()), Err).and_then(|()| follows(&path)),
        // A dangling link ignores nothing.
        Err(error) if matches!(error.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) => Ok(()),
        Err(error) => Err(error),
    };
    checked.map_err(|error| trouble(format!("{name} in it cannot be read, so it is not searched: {error}")))
}
