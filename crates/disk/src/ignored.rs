//! The ignore files of folders. A walk reads them itself, before it enters the folder.

use std::io::{self, ErrorKind};
use std::path::Path;

use crate::kind::{not_a_file, trouble};
use crate::links::follow;

/// Those that are part of a tree.
const IN_TREE: [&str; 2] = [".ignore", ".gitignore"];

/// The one that git keeps beside it. The folder `.git` may lie elsewhere.
const BESIDE: &str = ".git/info/exclude";

/// Refuses a folder whose ignore files are no files, or lead out of the root or else of the folder `named`.
pub(crate) fn require_ignore_files(folder: &Path, named: Option<&Path>) -> io::Result<()> {
    for name in IN_TREE {
        require_file(folder, name, |path| follow(path, named).map(|_| ()))?;
    }
    require_file(folder, BESIDE, |_| Ok(()))
}

/// The same for the folders around one that is walked, whose ignore files hold in it too.
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
        // A link to nothing ignores nothing.
        Err(error) if matches!(error.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) => Ok(()),
        Err(error) => Err(error),
    };
    checked.map_err(|error| trouble(format!("{name} in it cannot be read, so it is not searched: {error}")))
}
