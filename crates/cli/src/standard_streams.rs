//! Writing to standard output and standard error. Failures there must not hide the exit code, which says what was
//! found.

use std::fmt::Display;
use std::io::{self, ErrorKind, Write};
use std::path::Path;

use drysheath_disk::replace;
use drysheath_text::safe;

/// Writes to standard output. A closed pipe is not an error: the reader has seen enough.
///
/// # Errors
///
/// If writing fails for another reason, such as a full disk.
pub(crate) fn print(bytes: &[u8]) -> io::Result<()> {
    let mut out = io::stdout().lock();
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
        Err(error) => Err(io::Error::new(error.kind(), format!("standard output: {error}"))),
        Ok(()) => Ok(()),
    }
}

/// Writes an output to a file, or to standard output if there is none. Returns error messages: one output that cannot
/// be written must not stop the others.
pub(crate) fn write(to: Option<&Path>, bytes: &[u8]) -> Vec<String> {
    let Some(path) = to else {
        return print(bytes).err().map(|error| error.to_string()).into_iter().collect();
    };
    let path_and = |why: &dyn Display| format!("{}: {why}", path.display());
    match replace(path, bytes) {
        Ok(lost) => lost.iter().map(|lost| path_and(lost)).collect(),
        Err(error) => vec![path_and(&error)],
    }
}

/// Writes a message to standard error, with control characters escaped. Write errors are ignored: there is nowhere to
/// report them.
pub(crate) fn print_error(message: impl Display) {
    let message = message.to_string();
    let _ = writeln!(io::stderr().lock(), "drysheath: {}", safe::line(&message));
}
