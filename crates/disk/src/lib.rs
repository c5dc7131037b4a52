//! Offices and files of parts on a disk: which files are meant, where a repository's root is, and what a file's bytes say.

mod read;
mod root;
mod walk;

pub use drysheath_office::{EXTENSION, SETTINGS};
pub use read::{Text, read, read_from};
pub use root::{root_above, similar};
pub use walk::{Found, walk};
