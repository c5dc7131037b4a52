//! Buffer for output that must wait for what precedes it.

use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::PathBuf;

use tempfile::{SpooledTempFile, spooled_tempfile_in};

/// Maximum number of bytes buffered in memory; more go to a temporary file.
const IN_MEMORY: usize = 16 << 20;

/// Bytes held in memory while there are few, then in an unnamed temporary file.
pub(super) struct Temporary {
    bytes: SpooledTempFile,
    /// Folder of the temporary file.
    folder: PathBuf,
}

impl Temporary {
    /// An empty buffer.
    pub fn new() -> Self {
        Self::within(std::env::temp_dir(), IN_MEMORY)
    }

    fn within(folder: PathBuf, in_memory: usize) -> Self {
        Self {
            bytes: spooled_tempfile_in(in_memory, &folder),
            folder,
        }
    }

    /// Runs an operation and adds the folder of the temporary file to the error message, since the user does not know
    /// of the file.
    fn attempt<T>(&mut self, work: impl FnOnce(&mut SpooledTempFile) -> io::Result<T>) -> io::Result<T> {
        work(&mut self.bytes).map_err(|error| {
            let folder = self.folder.display();
            io::Error::new(error.kind(), format!("a temporary file in {folder}: {error}"))
        })
    }
}

impl Read for Temporary {
    fn read(&mut self, bytes: &mut [u8]) -> io::Result<usize> {
        self.attempt(|file| file.read(bytes))
    }
}

impl Write for Temporary {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.attempt(|file| file.write(bytes))
    }

    fn flush(&mut self) -> io::Result<()> {
        self.attempt(SpooledTempFile::flush)
    }
}

impl Seek for Temporary {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.attempt(|file| file.seek(to))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

    use super::*;

    #[test]
    fn few_bytes_need_no_folder_and_an_error_names_it() {
        let folder = tempfile::tempdir().unwrap().path().join("gone");
        let mut few = Temporary::within(folder.clone(), 4);
        few.write_all(b"abcd").unwrap();
        few.rewind().unwrap();
        let mut read = String::new();
        few.read_to_string(&mut read).unwrap();
        assert_eq!(read, "abcd");
        let error = few.write_all(b"e").unwrap_err().to_string();
        assert!(
            error.starts_with(&format!("a temporary file in {}: ", folder.display())),
            "{error}"
        );
    }
}
