//! Resolution of links. Nothing outside a root is read or written through a link.

use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use crate::SETTINGS;
use crate::canonical::{canonical, path_from};
use crate::disk::or_here;
use crate::file_kind::{not_a_file, trouble};

/// A resolved file or folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ResolvedPath {
    /// Path without links below the root, in the form that the user gave.
    pub path: PathBuf,
    /// Path without any links: two paths are the same file if this is equal.
    pub real: PathBuf,
}

/// Follows all links in `path`. They must not lead out of any folder with settings or with `.git` that contains `path`
/// as written. If none has settings, they must not lead out of the root around the folder of `path`, and if there is no
/// root either, out of the folder `named`. Without a `named` folder they may then lead anywhere: the user has named
/// `path` itself.
///
/// # Errors
///
/// A message if the path does not exist, or a link leads out or is circular.
pub fn follow(path: &Path, named: Option<&Path>) -> io::Result<ResolvedPath> {
    let path = or_here(path);
    let real = canonical(path).map_err(|error| not_followed(path, error))?;
    let whole = whole(path)?;
    if real == whole {
        let path = path.to_owned();
        return Ok(ResolvedPath { path, real });
    }
    let folder = whole.parent().unwrap_or(&whole);
    let mut root = None;
    for above in folder.ancestors() {
        let is_root = has_settings(above);
        if is_root || is_top_of_git(above) {
            let inner = inside(&real, above)?;
            if is_root && root.is_none() {
                root = Some((shown(above, path), inner));
            }
        }
    }
    let root = match (root, named) {
        (Some(root), _) => Some(root),
        (None, None) => None,
        (None, Some(named)) => {
            let real_folder = canonical(folder)?;
            let real_root = real_folder.ancestors().find(|above| has_settings(above));
            Some(match real_root {
                Some(root) => (shown(root, path), inside(&real, root)?),
                None => (named.to_owned(), inside(&real, or_here(named))?),
            })
        }
    };
    let path = root.map_or_else(|| path.to_owned(), |(root, inner)| root.join(inner));
    Ok(ResolvedPath { path, real })
}

/// Refuses to create something at a path that leads out through a link.
///
/// # Errors
///
/// As [`follow`], for the nearest existing folder.
pub fn require_inside(path: &Path) -> io::Result<()> {
    let mut around = path.ancestors().map(or_here);
    match around.find(|above| above.symlink_metadata().is_ok()) {
        Some(there) => follow(there, None).map(|_| ()),
        None => Ok(()),
    }
}

/// Whether a folder has settings, readable or not: unreadable ones must be reported, not skipped.
pub(crate) fn has_settings(folder: &Path) -> bool {
    folder.join(SETTINGS).symlink_metadata().is_ok()
}

/// Whether a folder is the top of a git working tree.
pub fn is_top_of_git(folder: &Path) -> bool {
    folder.join(".git").symlink_metadata().is_ok()
}

/// Path of a resolved path relative to `root`.
fn inside(real: &Path, root: &Path) -> io::Result<PathBuf> {
    path_from(root, real)?.map_or_else(
        || {
            let root = canonical(root)?;
            Err(trouble(format!(
                "a link leads from here to {}, out of {}; nothing out there is read or written",
                real.display(),
                root.display()
            )))
        },
        Ok,
    )
}

/// An absolute path without `..`.
fn whole(path: &Path) -> io::Result<PathBuf> {
    let whole = std::path::absolute(path)?;
    let Some(last) = whole
        .components()
        .rev()
        .position(|part| part == std::path::Component::ParentDir)
    else {
        return Ok(whole);
    };
    // What `..` refers to is known only once the links before it are followed.
    let count = whole.components().count() - last;
    let before: PathBuf = whole.components().take(count).collect();
    let after: PathBuf = whole.components().skip(count).collect();
    Ok(canonical(&before)?.join(after))
}

/// An absolute folder in the form of `path`: relative to the current folder if `path` is relative.
fn shown(folder: &Path, path: &Path) -> PathBuf {
    let here = std::env::current_dir().ok().filter(|_| path.is_relative());
    let inner = here.and_then(|here| folder.strip_prefix(here).ok().map(Path::to_owned));
    inner.unwrap_or_else(|| folder.to_owned())
}

fn not_followed(path: &Path, error: io::Error) -> io::Error {
    if let Ok(metadata) = path.metadata() {
        // For example the path of standard input: it exists, but has no real path.
        return not_a_file(&metadata).unwrap_or(error);
    }
    let is_link = path.symlink_metadata().is_ok_and(|metadata| metadata.is_symlink());
    match path.read_link() {
        Ok(target) if is_link && error.kind() == ErrorKind::NotFound => {
            trouble(format!("it is a link to {}, and nothing is there", target.display()))
        }
        _ => error,
    }
}

#[cfg(all(test, unix))]
mod tests {
    use std::fs;
    use std::os::unix::fs::symlink;

    use super::*;

    /// A folder with two repositories, `north` and `south`, without links in its own path.
    fn two() -> io::Result<(tempfile::TempDir, PathBuf)> {
        let folder = tempfile::tempdir()?;
        let path = folder.path().canonicalize()?;
        for name in ["north", "south"] {
            fs::create_dir(path.join(name))?;
            fs::write(path.join(name).join(SETTINGS), "")?;
            fs::write(path.join(name).join("a.office"), "")?;
        }
        Ok((folder, path))
    }

    fn led(path: &Path, named: Option<&Path>) -> Result<PathBuf, String> {
        follow(path, named)
            .map(|meant| meant.path)
            .map_err(|error| error.to_string())
    }

    #[test]
    fn a_path_without_links_stays_as_it_is_written() -> io::Result<()> {
        let (_folder, path) = two()?;
        let plain = path.join("north/a.office");
        assert_eq!(led(&plain, None), Ok(plain.clone()));
        let round = path.join("south/../north/a.office");
        assert_eq!(follow(&round, None)?.real, plain);
        Ok(())
    }

    #[test]
    fn a_link_from_one_repository_into_another_leads_out() -> io::Result<()> {
        let (_folder, path) = two()?;
        symlink("../south/a.office", path.join("north/link.office"))?;
        symlink("../south", path.join("north/south"))?;
        for link in ["north/link.office", "north/south", "north/south/a.office"] {
            let outcome = led(&path.join(link), None);
            assert!(
                outcome.is_err_and(|why| why.contains("a link leads from here to")),
                "{link}"
            );
        }
        Ok(())
    }

    #[test]
    fn a_link_inside_gives_the_path_of_its_file() -> io::Result<()> {
        let (_folder, path) = two()?;
        symlink("a.office", path.join("north/link.office"))?;
        assert_eq!(
            led(&path.join("north/link.office"), None),
            Ok(path.join("north/a.office"))
        );
        // The path to the repository may itself be a link, which is kept.
        symlink("north", path.join("way"))?;
        assert_eq!(led(&path.join("way/link.office"), None), Ok(path.join("way/a.office")));
        Ok(())
    }

    #[test]
    fn without_settings_the_folder_that_was_named_is_the_boundary() -> io::Result<()> {
        let folder = tempfile::tempdir()?;
        let path = folder.path().canonicalize()?;
        fs::create_dir(path.join("inner"))?;
        fs::write(path.join("a.office"), "")?;
        symlink("../a.office", path.join("inner/link.office"))?;
        let link = path.join("inner/link.office");
        assert_eq!(led(&link, Some(&path)), Ok(path.join("a.office")));
        assert!(led(&link, Some(&path.join("inner"))).is_err());
        assert_eq!(led(&link, None), Ok(link.clone()));
        Ok(())
    }

    #[test]
    fn links_to_nothing_and_to_themselves_have_their_reasons() -> io::Result<()> {
        let (_folder, path) = two()?;
        symlink("gone", path.join("north/gone.office"))?;
        symlink("ring.office", path.join("north/ring.office"))?;
        let gone = led(&path.join("north/gone.office"), None);
        assert_eq!(gone, Err("it is a link to gone, and nothing is there".to_owned()));
        assert!(led(&path.join("north/ring.office"), None).is_err());
        let missing = follow(&path.join("north/missing.office"), None);
        assert!(missing.is_err_and(|error| error.kind() == ErrorKind::NotFound));
        Ok(())
    }
}
