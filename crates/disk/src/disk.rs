use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use drysheath_workspace::{Content, FileSource};

use crate::{follow, names_in, read, settings_above};

/// The file system of this machine.
#[derive(Clone, Copy, Debug, Default)]
pub struct Disk;

/// Replaces an empty path by the current folder.
pub(crate) fn or_here(path: &Path) -> &Path {
    if path.as_os_str().is_empty() {
        Path::new(".")
    } else {
        path
    }
}

impl FileSource for Disk {
    fn read(&self, path: &Path, folder: &Path) -> Result<Option<Content>, String> {
        match read(path, Some(folder)) {
            Ok(content) => Ok(Some(content)),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error.to_string()),
        }
    }

    fn settings_above(&self, folder: &Path) -> Vec<PathBuf> {
        settings_above(folder)
    }

    fn real_path(&self, path: &Path) -> Option<PathBuf> {
        crate::canonical(or_here(path)).ok()
    }

    fn is_link(&self, path: &Path) -> bool {
        path.is_symlink()
    }

    fn followed(&self, path: &Path, folder: &Path) -> Option<PathBuf> {
        let meant = follow(path, Some(folder)).ok()?;
        (meant.path != path).then_some(meant.path)
    }

    fn names_in(&self, root: &Path, folder: &str) -> Vec<String> {
        names_in(or_here(root), folder)
    }
}
