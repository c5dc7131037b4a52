//! The contents of folders of offices at one moment: files, repositories, texts and results. The command, the language
//! server, the comparison and the records all use this crate.
//!
//! A [`FileSource`] provides bytes. A [`Workspace`] takes changes, and returns what they invalidate. A [`Snapshot`] is
//! the state at one moment; it is immutable, cheap to clone, and usable from any thread. An [`Analysis`] is everything
//! derived from one file. This crate does not access the disk, and does not decide what is recomputed first.

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

pub use analysis::{Analysis, LoweredFile, ProvidedContent, ReadFile, Used};
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
pub use workspace::{Invalidated, Workspace};
