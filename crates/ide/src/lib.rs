//! What an editor asks, answered from one immutable [`Analysis`] of a file. This room knows no protocol and reads no disk:
//! the [`World`] is told what is open, asks a [`Disk`] for the rest, and answers in byte ranges.

mod analysis;
mod disk;
mod layout;
mod names;
mod navigation;
mod outline;
mod rename;
mod repository;
mod roll;
mod search;
mod streams;
mod world;

pub use analysis::Analysis;
pub use disk::{Disk, OnDisk};
pub use layout::{lay_out, lay_out_range, lay_out_typed};
pub use names::{Mention, Name, Names, Owner};
pub use navigation::{Declared, Mentioned, definition, highlights, references, type_definition};
pub use outline::{Entry, Sort, outline};
pub use rename::{prepare as prepare_rename, rename};
pub use search::{Hit, search};
pub use streams::{Stream, downstream, thing_at, upstream};
pub use world::{Change, World};
