//! Rejects anything that is neither a file nor a folder: opening it may block forever or have side effects.

use std::fs::{FileType, Metadata};
use std::io;

/// Error for something that is not a file and cannot be read or written.
pub(crate) fn not_a_file(metadata: &Metadata) -> Option<io::Error> {
    let kind = metadata.file_type();
    if kind.is_file() {
        return None;
    }
    let what = if kind.is_dir() { "a folder" } else { special(kind) };
    Some(trouble(format!("it is {what}, not a file")))
}

#[cfg(unix)]
fn special(kind: FileType) -> &'static str {
    use std::os::unix::fs::FileTypeExt;
    if kind.is_fifo() {
        "a pipe"
    } else if kind.is_socket() {
        "a socket"
    } else {
        "a device"
    }
}

#[cfg(not(unix))]
fn special(_: FileType) -> &'static str {
    "a device"
}

pub(crate) fn trouble(why: String) -> io::Error {
    io::Error::other(why)
}
