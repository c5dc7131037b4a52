//! File system access for offices and parts: which files are selected, where a repository's root is, reading and
//! decoding files, and replacing files safely.
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    clippy::disallowed_macros,
    reason = "this crate does input and output"
)]

mod attributes;
mod canonical;
mod disk;
mod file_kind;
mod ignored;
mod links;
mod read;
mod replace;
mod root;
mod walk;

pub use canonical::canonical;
pub use disk::Disk;
pub use drysheath_office::{EXTENSION, SETTINGS};
pub use links::{ResolvedPath, follow, is_top_of_git, require_inside};
pub use read::{open, read, read_from};
pub use replace::{Replacement, create_folder, replace, replace_all};
pub use root::{names_in, settings_above};
pub use walk::{Files, Found, find, walk};
