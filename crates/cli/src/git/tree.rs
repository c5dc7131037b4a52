//! List of the files of a commit.

use std::path::{Path, PathBuf};

use drysheath_workspace::slashed;

/// Contents of a commit.
#[derive(Debug, Default, PartialEq, Eq)]
pub(crate) struct Tree {
    pub blobs: Vec<Blob>,
    /// Paths of submodules, whose files are in other repositories.
    pub submodules: Vec<String>,
}

/// A file of a commit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Blob {
    /// Path from the top, for display, with `/`.
    pub name: String,
    /// Path from the top, in the form of the operating system.
    pub path: PathBuf,
    /// Object id of its bytes.
    pub object: String,
    /// Whether it is a symbolic link, whose bytes are the path of its target.
    pub is_link: bool,
}

impl Tree {
    /// Parses the output of `ls-tree -r -z`: `100644 blob OBJECT<TAB>PATH`, each terminated by a zero byte.
    pub fn read(listed: &[u8]) -> Self {
        let mut tree = Self::default();
        for entry in listed.split(|byte| *byte == 0) {
            let Some(tab) = entry.iter().position(|byte| *byte == b'\t') else {
                continue;
            };
            let (about, path) = entry.split_at(tab);
            let path = path_of(path.get(1..).unwrap_or_default());
            let about = String::from_utf8_lossy(about).into_owned();
            let mut words = about.split(' ');
            let (Some(mode), Some(kind), Some(object)) = (words.next(), words.next(), words.next()) else {
                continue;
            };
            let name = slashed(&path);
            match kind {
                "blob" => tree.blobs.push(Blob {
                    name,
                    path,
                    object: object.to_owned(),
                    is_link: mode == "120000",
                }),
                "commit" => tree.submodules.push(name),
                _ => {}
            }
        }
        tree
    }
}

/// Path from the bytes that git outputs. They need not be UTF-8.
#[cfg(unix)]
fn path_of(bytes: &[u8]) -> PathBuf {
    use std::os::unix::ffi::OsStrExt;
    Path::new(std::ffi::OsStr::from_bytes(bytes)).to_owned()
}

#[cfg(not(unix))]
fn path_of(bytes: &[u8]) -> PathBuf {
    Path::new(String::from_utf8_lossy(bytes).as_ref()).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn links_and_submodules_are_told_from_files() {
        let tree = Tree::read(b"120000 blob abc\toffices/a.office\x00160000 commit abc\tsub\x00");
        let blobs: Vec<_> = tree
            .blobs
            .iter()
            .map(|blob| (blob.name.as_str(), blob.is_link))
            .collect();
        assert_eq!(blobs, [("offices/a.office", true)]);
        assert_eq!(tree.submodules, ["sub"]);
    }

    #[cfg(unix)]
    #[test]
    fn names_that_are_no_utf8_stay_apart() {
        let tree = Tree::read(b"100644 blob abc\tcaf\xe9.office\x00100644 blob abc\tcaf\xe8.office\x00");
        let names: Vec<_> = tree.blobs.iter().map(|blob| blob.name.as_str()).collect();
        assert_eq!(names, ["caf\\xe9.office", "caf\\xe8.office"]);
    }
}
