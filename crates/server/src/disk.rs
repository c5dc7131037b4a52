use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use drysheath_disk::{read, root_above, similar};
use drysheath_ide::{Disk, OnDisk};

/// The disk of this machine.
pub(crate) struct LocalDisk;

impl Disk for LocalDisk {
    fn read(&self, path: &Path) -> Result<Option<OnDisk>, String> {
        match read(path) {
            Ok(text) => Ok(Some(OnDisk {
                text: text.text.into(),
                problem: text.problem,
            })),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error.to_string()),
        }
    }

    fn root_above(&self, folder: &Path) -> Option<PathBuf> {
        root_above(folder)
    }

    fn is_outside(&self, path: &Path, root: &Path) -> bool {
        match (path.canonicalize(), root.canonicalize()) {
            (Ok(path), Ok(root)) => !path.starts_with(root),
            _ => false,
        }
    }

    fn similar(&self, root: &Path, name: &str) -> Option<String> {
        similar(root, name)
    }
}
