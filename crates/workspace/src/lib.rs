//! What folders of offices are at one moment: which files there are, which repository each belongs to, what each says, and
//! the results. The command, the language server, the comparison and the records all ask this room.
//!
//! A [`FileSource`] gives bytes. A [`Workspace`] takes changes, and returns what they make out of date. A
//! [`Snapshot`] is the state at one moment; it never changes, is cheap to clone, and answers from any thread. An
//! [`Analysis`] is all that follows from one file. Nothing here reads a disk, and nothing here decides what is made first.

mod across;
mod analyses;
mod analysis;
mod analysis_cache;
mod cancellation;
mod digest;
mod edit;
mod file_table;
mod memory;
mod parts;
mod repository;
mod results;
mod snapshot;
mod source;
mod symbols;
mod texts;
mod version;
mod workspace;

pub use analysis::{Analysis, Given, LoweredFile, ReadFile, Used};
pub use cancellation::Cancellation;
pub use digest::Digest;
pub use edit::Change;
pub use memory::Memory;
pub use repository::{Repository, slashed};
pub use results::FileResults;
pub use snapshot::Snapshot;
pub use source::{Content, FileSource};
pub use symbols::{Symbol, Symbols};
pub use texts::Texts;
pub use workspace::{Dirtied, Workspace};
