//! Replaces files atomically: the new contents are written to a temporary file in the same folder, flushed, and
//! renamed. A full disk or a power cut leaves the old file, and a reader sees either the old text or the new one.

use std::fs::File;
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use crate::attributes::{Attributes, as_new, require_writable};
use crate::file_kind::{not_a_file, trouble};
use crate::links::{follow, require_inside};

/// Prefix and suffix of the temporary files. Walks skip hidden files.
const PREFIX: &str = ".drysheath-";
const SUFFIX: &str = ".tmp";

/// Number of temporary files at a time. Each stays open until it is in place.
const AT_A_TIME: usize = 128;

/// A temporary file for a target.
struct TemporaryFile {
    file: NamedTempFile,
    target: PathBuf,
    lost: Vec<String>,
}

/// Writes or replaces a file. If the path is a link, its target is replaced. Returns messages about attributes of the
/// old file that could not be preserved.
///
/// # Errors
///
/// If a link leads out, something other than a regular file is there, the file is read-only, or writing fails. The old
/// file is unchanged.
pub fn replace(path: &Path, bytes: &[u8]) -> io::Result<Vec<String>> {
    let mut outcomes = replace_all(&[(path, bytes)]);
    outcomes.pop().unwrap_or_else(|| Ok(Vec::new()))
}

/// Like [`replace`], for many files at a time. The outcomes are in the order of the files.
pub fn replace_all(files: &[(&Path, &[u8])]) -> Vec<io::Result<Vec<String>>> {
    let mut cleared: Vec<PathBuf> = Vec::new();
    let mut outcomes = Vec::with_capacity(files.len());
    for files in files.chunks(AT_A_TIME) {
        let asides: Vec<_> = files
            .iter()
            .map(|(path, bytes)| write_temporary(path, bytes, &mut cleared))
            .collect();
        let flushed = flush(&asides);
        for (aside, flushed) in asides.into_iter().zip(flushed) {
            outcomes.push(aside.and_then(|aside| {
                flushed?;
                aside.file.persist(&aside.target)?;
                Ok(aside.lost)
            }));
        }
    }
    outcomes
}

/// A file that is written piece by piece and replaces the old one when [`finish`](Self::finish)ed. Until then, or if it
/// is never finished, the old file remains.
pub struct Replacement(TemporaryFile);

impl Replacement {
    /// Starts a replacement of the file at `path`.
    ///
    /// # Errors
    ///
    /// As [`replace`].
    pub fn begin(path: &Path) -> io::Result<Self> {
        write_temporary(path, &[], &mut Vec::new()).map(Self)
    }

    /// Puts the file in place. Returns messages about attributes of the old file that could not be preserved.
    ///
    /// # Errors
    ///
    /// As [`replace`].
    pub fn finish(self) -> io::Result<Vec<String>> {
        let aside = self.0;
        aside.file.as_file().sync_all()?;
        aside.file.persist(&aside.target)?;
        Ok(aside.lost)
    }
}

impl Write for Replacement {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.file.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.file.flush()
    }
}

/// Creates a folder and its missing parents.
///
/// # Errors
///
/// If a link leads out, something else is there, or it cannot be created.
pub fn create_folder(path: &Path) -> io::Result<()> {
    require_inside(path)?;
    std::fs::create_dir_all(path)
}

fn write_temporary(path: &Path, bytes: &[u8], cleared: &mut Vec<PathBuf>) -> io::Result<TemporaryFile> {
    let target = target(path)?;
    let there = match target.symlink_metadata() {
        Ok(metadata) => Some(metadata),
        Err(error) if error.kind() == ErrorKind::NotFound => None,
        Err(error) => return Err(error),
    };
    if let Some(metadata) = &there {
        not_a_file(metadata).map_or(Ok(()), Err)?;
        require_writable(&target, metadata)?;
    }
    let folder = target.parent().unwrap_or(Path::new("."));
    if !cleared.iter().any(|cleared| cleared == folder) {
        clear(folder);
        cleared.push(folder.to_owned());
    }
    let mut builder = tempfile::Builder::new();
    builder.prefix(PREFIX).suffix(SUFFIX);
    if there.is_none() {
        as_new(&mut builder);
    }
    let mut file = builder.tempfile_in(folder)?;
    // The lock shows later runs that this one is still writing. Without support for locks, nothing is removed.
    let _ = file.as_file().try_lock();
    file.write_all(bytes)?;
    let lost = match &there {
        Some(metadata) => Attributes::of(&target, metadata)?.give(file.as_file())?,
        None => Vec::new(),
    };
    Ok(TemporaryFile { file, target, lost })
}

/// Real path of the file that writing to `path` replaces.
fn target(path: &Path) -> io::Result<PathBuf> {
    if path.symlink_metadata().is_ok() {
        return Ok(follow(path, None)?.real);
    }
    let (Some(folder), Some(name)) = (path.parent(), path.file_name()) else {
        return Err(trouble(format!("{} is no name of a file", path.display())));
    };
    Ok(follow(folder, None)?.real.join(name))
}

/// Flushes all files to disk.
fn flush(asides: &[io::Result<TemporaryFile>]) -> Vec<io::Result<()>> {
    let flushed = |aside: &io::Result<TemporaryFile>| match aside {
        Ok(aside) => aside.file.as_file().sync_all(),
        Err(_) => Ok(()),
    };
    #[cfg(target_os = "linux")]
    {
        // For 2,000 files of 5 kB on ext4, written, flushed and renamed: 6.2 s with a flush of each, 2.4 s with sixteen
        // threads that flush, 1.6 s with a flush of the file system for every 256.
        const MANY: usize = 10;
        let first = asides.iter().flatten().next();
        if let Some(first) = first.filter(|_| asides.len() > MANY)
            && rustix::fs::syncfs(first.file.as_file()).is_ok()
        {
            // They may be on several file systems. Flushing what is already flushed costs nothing.
            return asides
                .iter()
                .map(|aside| on_other_device(aside, first, flushed))
                .collect();
        }
    }
    asides.iter().map(flushed).collect()
}

#[cfg(target_os = "linux")]
fn on_other_device(
    aside: &io::Result<TemporaryFile>,
    first: &TemporaryFile,
    flushed: impl Fn(&io::Result<TemporaryFile>) -> io::Result<()>,
) -> io::Result<()> {
    use std::os::unix::fs::MetadataExt;
    let device = |aside: &TemporaryFile| aside.file.as_file().metadata().map(|metadata| metadata.dev());
    match aside {
        Ok(own) if device(own)? != device(first)? => flushed(aside),
        _ => Ok(()),
    }
}

/// Removes temporary files that killed runs have left in a folder.
fn clear(folder: &Path) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let is_aside = name
            .to_str()
            .is_some_and(|name| name.starts_with(PREFIX) && name.ends_with(SUFFIX));
        let is_file = is_aside && entry.file_type().is_ok_and(|kind| kind.is_file());
        // The run that writes it holds a lock on it.
        if is_file && File::open(entry.path()).is_ok_and(|file| file.try_lock().is_ok()) {
            let _ = std::fs::remove_file(entry.path());
        }
    }
}
