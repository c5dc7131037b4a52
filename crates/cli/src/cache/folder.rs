//! The cache folder. It belongs to the user and must be outside the checked files: whoever can write to it decides what
//! passes, so nothing that comes with a repository may be able to.

use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use drysheath_disk::{canonical, is_top_of_git};
use etcetera::BaseStrategy;

/// Name of the folder in the user's cache directory.
const NAME: &str = "drysheath";
/// Maximum size of a pack, in bytes; enough for some hundred thousand offices.
pub(super) const LARGEST_PACK: usize = 256 << 20;
/// Maximum size of all packs together, in bytes.
const LARGEST_FOLDER: u64 = 1 << 30;
/// Packs unused for longer than this are removed.
const LONGEST_UNUSED: Duration = Duration::from_hours(24 * 60);
/// The time of use of a pack is updated when it is older than this.
const USE_IS_NOTED: Duration = Duration::from_hours(24);

/// The cache folder of this user.
pub(super) struct Folder {
    path: PathBuf,
}

impl Folder {
    /// Path of this user's cache folder, which may not exist yet. `None` if the user has none, or none that can be
    /// trusted.
    pub fn open() -> Option<Self> {
        let caches = etcetera::choose_base_strategy().ok()?.cache_dir();
        // The environment variables may hold a relative path, which would lie inside the checked files.
        if !caches.is_absolute() {
            return None;
        }
        let path = real_path(&caches.join(NAME))?;
        (!path.exists() || is_own(&path)).then_some(Self { path })
    }

    /// Whether the cache is outside a checked folder, given without links, and outside everything that may have come
    /// with it: the working tree around it.
    pub fn is_outside_of(&self, real: &Path) -> bool {
        let tops = real.ancestors().filter(|above| is_top_of_git(above));
        !self.path.starts_with(tops.last().unwrap_or(real))
    }

    fn pack(&self, name: &str) -> PathBuf {
        self.path.join(format!("{name}.pack"))
    }

    /// Reads a pack. `None` if it does not exist or somebody else may have written it.
    pub fn read(&self, name: &str) -> Option<Vec<u8>> {
        let file = open(&self.pack(name)).ok()?;
        let about = file.metadata().ok()?;
        let size = usize::try_from(about.len()).ok().filter(|size| *size <= LARGEST_PACK)?;
        let mut bytes = Vec::with_capacity(size);
        (&file).take(LARGEST_PACK as u64).read_to_end(&mut bytes).ok()?;
        let is_old = |time: SystemTime| time.elapsed().is_ok_and(|since| since > USE_IS_NOTED);
        if about.modified().is_ok_and(is_old) {
            // Failure only affects the order in which packs are removed.
            let _ = OpenOptions::new()
                .write(true)
                .open(self.pack(name))
                .and_then(|file| file.set_modified(SystemTime::now()));
        }
        Some(bytes)
    }

    /// Replaces a pack atomically: a reader gets either the old bytes or the new ones. What cannot be written is not
    /// cached.
    pub fn write(&self, name: &str, pieces: &[&[u8]]) -> io::Result<()> {
        let size = pieces.iter().map(|piece| piece.len() as u64).sum();
        self.make()?;
        let pack = self.pack(name);
        self.make_room(size, &pack);
        let mut file = tempfile::Builder::new()
            .prefix(".")
            .suffix(".tmp")
            .tempfile_in(&self.path)?;
        for piece in pieces {
            file.write_all(piece)?;
        }
        file.persist(pack)?;
        Ok(())
    }

    /// Creates the folder, accessible only to this user. It is created only on writing: before, it is not known whether
    /// it is outside the checked files.
    fn make(&self) -> io::Result<()> {
        let mut builder = fs::DirBuilder::new();
        builder.recursive(true);
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        builder.create(&self.path)?;
        // A link may have been put there in the meantime.
        if canonical(&self.path)? == self.path && is_own(&self.path) {
            Ok(())
        } else {
            Err(ErrorKind::PermissionDenied.into())
        }
    }

    /// Removes packs unused for too long and files left by killed runs, and then the oldest packs until there is room
    /// for the one to be written.
    fn make_room(&self, size: u64, written: &Path) {
        let entries = fs::read_dir(&self.path).into_iter().flatten().flatten();
        let mut packs: Vec<(SystemTime, u64, PathBuf)> = entries
            .filter_map(|entry| {
                let about = entry.metadata().ok().filter(fs::Metadata::is_file)?;
                Some((about.modified().ok()?, about.len(), entry.path()))
            })
            .filter(|(_, _, path)| path != written)
            .collect();
        packs.sort();
        let mut total = packs.iter().map(|(_, size, _)| size).sum::<u64>() + size;
        for (time, size, path) in packs {
            let unused = time.elapsed().unwrap_or_default();
            let is_left = path.extension().is_some_and(|extension| extension == "tmp") && unused > USE_IS_NOTED;
            if (unused > LONGEST_UNUSED || total > LARGEST_FOLDER || is_left) && fs::remove_file(path).is_ok() {
                total -= size;
            }
        }
    }
}

/// A path without links, whether or not all of it exists. `None` if no folder can be created there.
fn real_path(path: &Path) -> Option<PathBuf> {
    let there = path.ancestors().find(|above| above.symlink_metadata().is_ok())?;
    let real = canonical(there).ok().filter(|real| real.is_dir())?;
    let missing = path.strip_prefix(there).ok()?;
    Some(if missing.as_os_str().is_empty() {
        real
    } else {
        real.join(missing)
    })
}

/// Whether a folder belongs to this user and nobody else may write to it. Outside Unix, the system gives each user a
/// folder of their own.
#[cfg(unix)]
fn is_own(path: &Path) -> bool {
    path.symlink_metadata()
        .is_ok_and(|about| about.is_dir() && is_written_by_user(&about))
}

#[cfg(not(unix))]
fn is_own(path: &Path) -> bool {
    path.symlink_metadata().is_ok_and(|about| about.is_dir())
}

#[cfg(unix)]
fn is_written_by_user(about: &fs::Metadata) -> bool {
    use std::os::unix::fs::MetadataExt;
    const WRITTEN_BY_OTHERS: u32 = 0o022;
    about.uid() == rustix::process::geteuid().as_raw() && about.mode() & WRITTEN_BY_OTHERS == 0
}

/// Opens a pack for reading: it must be a regular file of this user, not a link or something that can block.
#[cfg(unix)]
fn open(path: &Path) -> io::Result<File> {
    use rustix::fs::OFlags;
    use std::os::unix::fs::OpenOptionsExt;
    let flags = (OFlags::NONBLOCK | OFlags::NOFOLLOW).bits().cast_signed();
    let file = OpenOptions::new().read(true).custom_flags(flags).open(path)?;
    let about = file.metadata()?;
    if about.is_file() && is_written_by_user(&about) {
        Ok(file)
    } else {
        Err(ErrorKind::PermissionDenied.into())
    }
}

#[cfg(not(unix))]
fn open(path: &Path) -> io::Result<File> {
    if path.symlink_metadata()?.is_file() {
        File::open(path)
    } else {
        Err(ErrorKind::PermissionDenied.into())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

    use super::*;

    #[test]
    fn what_is_replaced_takes_no_room_beside_what_replaces_it() {
        let inside = tempfile::tempdir().unwrap();
        let folder = Folder {
            path: inside.path().to_owned(),
        };
        // Sparse files: nothing of them is stored on disk.
        let put = |name: &str, size: u64| File::create(folder.pack(name)).unwrap().set_len(size).unwrap();
        put("other", LARGEST_FOLDER / 2);
        put("replaced", LARGEST_FOLDER / 2);
        folder.make_room(LARGEST_FOLDER / 4, &folder.pack("replaced"));
        assert!(folder.pack("other").exists() && folder.pack("replaced").exists());
        folder.make_room(LARGEST_FOLDER / 4, &folder.pack("new"));
        let left = ["other", "replaced"]
            .into_iter()
            .filter(|name| folder.pack(name).exists());
        assert_eq!(left.count(), 1, "the older one had to go");
    }

    #[test]
    fn the_folder_need_not_be_there() {
        let inside = tempfile::tempdir().unwrap();
        let real = canonical(inside.path()).unwrap();
        assert_eq!(real_path(inside.path()), Some(real.clone()));
        assert_eq!(real_path(&inside.path().join("a/b")), Some(real.join("a/b")));
        fs::write(inside.path().join("a"), "").unwrap();
        assert_eq!(real_path(&inside.path().join("a/b")), None, "a file is in the way");
    }
}
