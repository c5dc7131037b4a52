//! Offices and files of parts on a disk: which files are meant, where a repository's root is, and what a file's bytes say.
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    clippy::disallowed_macros,
    reason = "this crate does input and output"
)]

mod disk;
mod read;
mod root;
mod walk;

pub use disk::Disk;
pub use drysheath_office::{EXTENSION, SETTINGS};
pub use read::{read, read_from};
pub use root::{root_above, similar};
pub use walk::{Found, find, walk};
