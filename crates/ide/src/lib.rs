//! What an editor asks, answered from one immutable [`Analysis`] of a file. This room knows no protocol and reads no disk:
//! the [`World`] is told what is open, asks a [`Disk`] for the rest, and answers in byte ranges.

mod actions;
mod analysis;
mod completion;
mod days;
mod disk;
mod free;
mod lines;
mod repository;
mod world;

pub use actions::{Action, ActionKind, actions, fixes_of_file};
pub use analysis::Analysis;
pub use completion::{Completion, CompletionKind, completions};
pub use disk::{Disk, OnDisk};
pub use world::{Change, World};
