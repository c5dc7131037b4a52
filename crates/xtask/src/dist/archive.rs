//! Files in one archive: tar, compressed by gzip, with nothing in it of the machine or of the hour.

use std::io;

use flate2::{Compression, GzBuilder};

/// A file of the archive.
pub struct File {
    /// Its path below the archive's own folder, with `/`.
    pub path: String,
    pub bytes: Vec<u8>,
    /// Whether it can be run.
    pub is_program: bool,
}

impl File {
    /// A file that is read.
    pub fn text(path: &str, bytes: Vec<u8>) -> Self {
        Self {
            path: path.to_owned(),
            bytes,
            is_program: false,
        }
    }
}

/// The archive of some files, all in a folder `name` and of one time, in seconds since 1970.
pub fn pack(name: &str, files: &[File], time: u64) -> io::Result<Vec<u8>> {
    const READ: u32 = 0o644;
    const RUN: u32 = 0o755;
    // The head of gzip names no file, no time and no system.
    let packed = GzBuilder::new()
        .mtime(0)
        .operating_system(255)
        .write(Vec::new(), Compression::default());
    let mut archive = tar::Builder::new(packed);
    for file in files {
        let mut header = tar::Header::new_gnu();
        header.set_size(file.bytes.len() as u64);
        header.set_mode(if file.is_program { RUN } else { READ });
        header.set_mtime(time);
        header.set_uid(0);
        header.set_gid(0);
        archive.append_data(&mut header, format!("{name}/{}", file.path), file.bytes.as_slice())?;
    }
    archive.into_inner()?.finish()
}
