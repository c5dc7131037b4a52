//! The folder of the cache. It is the user's and lies outside of what is checked: whoever can write there decides what
//! passes, so that nothing which comes with a repository may.

use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use drysheath_disk::{canonical, is_top_of_git};
use etcetera::BaseStrategy;

/// The folder within that of the user's caches.
const NAME: &str = "drysheath";
/// The most bytes of a pack, which some hundred thousand offices take.
pub(super) const LARGEST_PACK: usize = 256 << 20;
/// All packs together.
const LARGEST_FOLDER: u64 = 1 << 30;
/// A pack that nobody has asked for as long as this is removed.
const LONGEST_UNUSED: Duration = Duration::from_hours(24 * 60);
/// The time of use of a pack is written anew when it is older than this.
const USE_IS_NOTED: Duration = Duration::from_hours(24);

/// The folder of the cache.
pub(super) struct Folder {
    path: PathBuf,
}

impl Folder {
    /// The folder of this user, which need not be there yet. None where there is none, or none that can be trusted.
    pub fn open() -> Option<Self> {
        let caches = etcetera::choose_base_strategy().ok()?.cache_dir();
        // The variables that name it may be relative, and then name a place in whatever is checked.
        if !caches.is_absolute() {
            return None;
        }
        let path = real_path(&caches.join(NAME))?;
        (!path.exists() || is_own(&path)).then_some(Self { path })
    }

    /// Whether it lies outside of a folder that is checked, given without links, and of all that may have come with that: the working
    /// tree around it.
    pub fn is_outside_of(&self, real: &Path) -> bool {
        let tops = real.ancestors().filter(|above| is_top_of_git(above));
        !self.path.starts_with(tops.last().unwrap_or(real))
    }

    fn pack(&self, name: &str) -> PathBuf {
        self.path.join(format!("{name}.pack"))
    }

    /// The pack of a name. None where there is nothing, or nothing that this user alone has written.
    pub fn read(&self, name: &str) -> Option<Vec<u8>> {
        let file = open(&self.pack(name)).ok()?;
        let about = file.metadata().ok()?;
        let size = usize::try_from(about.len()).ok().filter(|size| *size <= LARGEST_PACK)?;
        let mut bytes = Vec::with_capacity(size);
        (&file).take(LARGEST_PACK as u64).read_to_end(&mut bytes).ok()?;
        let is_old = |time: SystemTime| time.elapsed().is_ok_and(|since| since > USE_IS_NOTED);
        if about.modified().is_ok_and(is_old) {
            // Only the order in which packs are removed depends on it.
            let _ = OpenOptions::new()
                .write(true)
                .open(self.pack(name))
                .and_then(|file| file.set_modified(SystemTime::now()));
        }
        Some(bytes)
    }

    /// Writes the pack of a name, in place of what was there; a reader has the old bytes or the new ones. What cannot be written is
    /// not cached.
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

    /// Makes the folder, for this user alone. That is left until something is written in it: before, it is not known yet whether it
    /// lies outside of what is checked.
    fn make(&self) -> io::Result<()> {
        let mut builder = fs::DirBuilder::new();
        builder.recursive(true);
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        builder.create(&self.path)?;
        // Somebody may have put a link there in the meantime.
        if canonical(&self.path)? == self.path && is_own(&self.path) {
            Ok(())
        } else {
            Err(ErrorKind::PermissionDenied.into())
        }
    }

    /// Removes packs that nobody uses any more and what killed runs have left, and the oldest ones where there are too many beside the one
    /// that is to be written.
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

/// A path without links, whether all of it is there yet or not. None where no folder can be made there.
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

/// Whether a folder belongs to this user, and no other may write in it. Elsewhere than on Unix the system gives each user an own one.
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

/// Opens a pack to be read: a file of this user, not a link and nothing that has to be waited for.
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
        // Holes in files: nothing of it is on the disk.
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
