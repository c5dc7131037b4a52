use std::fs::{File, Metadata, OpenOptions};
use std::io::{self, ErrorKind, Read};
use std::path::Path;

use drysheath_syntax::{LARGEST_TEXT, Problem, ProblemId};
use drysheath_text::TextRange;
use drysheath_workspace::Content;

use crate::file_kind::not_a_file;
use crate::links::follow;

/// Reads a file, following links as [`follow`] does.
///
/// # Errors
///
/// If the file does not exist, is not a regular file, cannot be read, or a link leads out.
pub fn read(path: &Path, named: Option<&Path>) -> io::Result<Content> {
    let (file, about) = opened(path, named)?;
    read_from(file, about.len() as usize)
}

/// Opens a file for reading, following links as [`follow`] does.
///
/// # Errors
///
/// If the file does not exist, is not a regular file, cannot be opened, or a link leads out.
pub fn open(path: &Path, named: Option<&Path>) -> io::Result<File> {
    opened(path, named).map(|(file, _)| file)
}

fn opened(path: &Path, named: Option<&Path>) -> io::Result<(File, Metadata)> {
    let file = match without_links(path) {
        Some(file) => file,
        None => {
            let real = follow(path, named)?.real;
            require_file(&real.metadata()?)?;
            let mut options = OpenOptions::new();
            options.read(true);
            // The file may have been replaced by a pipe or link in the meantime: do not block on one or follow the
            // other.
            #[cfg(unix)]
            {
                use rustix::fs::OFlags;
                use std::os::unix::fs::OpenOptionsExt;
                options.custom_flags((OFlags::NONBLOCK | OFlags::NOFOLLOW).bits().cast_signed());
            }
            options.open(real)?
        }
    };
    let about = file.metadata()?;
    require_file(&about)?;
    Ok((file, about))
}

/// Opens a file if there is no link in its path, which the system checks while opening it. Nearly all paths have none,
/// and checking them beforehand takes as long as reading the file. `None` if there is a link, or it does not exist or
/// is not a regular file.
#[cfg(target_os = "linux")]
fn without_links(path: &Path) -> Option<File> {
    use rustix::fs::{CWD, Mode, OFlags, ResolveFlags, openat2};
    require_file(&path.symlink_metadata().ok()?).ok()?;
    let flags = OFlags::RDONLY | OFlags::NONBLOCK | OFlags::NOFOLLOW | OFlags::CLOEXEC;
    let file = openat2(CWD, path, flags, Mode::empty(), ResolveFlags::NO_SYMLINKS);
    file.ok().map(File::from)
}

#[cfg(not(target_os = "linux"))]
fn without_links(_: &Path) -> Option<File> {
    None
}

fn require_file(metadata: &Metadata) -> io::Result<()> {
    not_a_file(metadata).map_or(Ok(()), Err)
}

/// Reads from a stream whose size is about `size`, in bytes.
///
/// # Errors
///
/// If the stream cannot be read.
pub fn read_from(stream: impl Read, size: usize) -> io::Result<Content> {
    // One extra byte distinguishes a file that is too large from one of exactly the maximum size. Read in one piece:
    // `read_to_end` alone begins with small ones.
    let mut stream = stream.take(LARGEST_TEXT as u64 + 1);
    let mut bytes = vec![0; size.min(LARGEST_TEXT) + 1];
    let read = match stream.read(&mut bytes) {
        Err(error) if error.kind() == ErrorKind::Interrupted => 0,
        outcome => outcome?,
    };
    bytes.truncate(read);
    stream.read_to_end(&mut bytes)?;
    Ok(decode(bytes))
}

/// Decodes the bytes. A text that is not UTF-8 or is too large is cut at that point.
fn decode(bytes: Vec<u8>) -> Content {
    let wide = bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]);
    match String::from_utf8(bytes) {
        Ok(text) => Content {
            text: text.into(),
            problem: None,
        },
        Err(error) => {
            let at = error.utf8_error().valid_up_to();
            let byte = error.as_bytes().get(at).copied().unwrap_or_default();
            let mut bytes = error.into_bytes();
            bytes.truncate(at);
            let text = String::from_utf8(bytes).unwrap_or_default();
            let message = if wide {
                "this file is UTF-16, and only UTF-8 is read".to_owned()
            } else {
                format!("the byte {byte:#04x} at offset {at} is not valid UTF-8, so nothing in this file is checked")
            };
            let problem = Problem::new(ProblemId::TextNotUtf8, TextRange::empty(at as u32), message)
                .help("save the file as UTF-8 in your editor");
            Content {
                text: text.into(),
                problem: Some(problem),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_that_are_no_utf8_have_their_place() {
        let text = decode(b"office x {\n  title \"caf\xe9\"\n}\n".to_vec());
        assert_eq!(&*text.text, "office x {\n  title \"caf");
        let problem = text.problem.map(|problem| (problem.range.start, problem.message));
        assert_eq!(
            problem,
            Some((
                23,
                "the byte 0xe9 at offset 23 is not valid UTF-8, so nothing in this file is checked".to_owned()
            ))
        );
    }

    #[test]
    fn utf_16_is_named() {
        let text = decode(vec![0xff, 0xfe, b'o', 0]);
        assert!(text.problem.is_some_and(|problem| problem.message.contains("UTF-16")));
    }
}
