//! Offices and files of parts on a disk: which files are meant, where a repository's root is, and what a file's bytes say.

mod read;
mod root;
mod walk;

pub use read::{Text, read, read_from};
pub use root::{root_above, similar};
pub use walk::{Found, walk};

/// The name of the settings file, which marks a repository's root.
pub const SETTINGS: &str = "drysheath.toml";
/// The extension of offices and files of parts.
pub const EXTENSION: &str = "office";
