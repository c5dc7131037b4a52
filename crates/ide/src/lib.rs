//! What an editor asks, answered from one immutable [`Analysis`] of a file. This room knows no protocol and reads no disk:
//! the [`World`] is told what is open, asks a [`Disk`] for the rest, and answers in byte ranges.

mod analysis;
mod card;
mod disk;
mod folding;
mod free;
mod hints;
mod hover;
mod layout;
mod lenses;
mod links;
mod looks;
mod names;
mod navigation;
mod outline;
mod rename;
mod repository;
mod roll;
mod search;
mod selection;
mod sensing;
mod spoken;
mod spots;
mod streams;
mod tokens;
mod ways;
mod words;
mod world;

pub use analysis::Analysis;
pub use card::Card;
pub use disk::{Disk, OnDisk};
pub use folding::{Fold, FoldKind, folding};
pub use hints::{Hint, hints};
pub use hover::{Hover, hover};
pub use layout::{lay_out, lay_out_range, lay_out_typed};
pub use lenses::{Lens, lenses};
pub use links::{Link, Target, links};
pub use names::{Mention, Name, Names, Owner};
pub use navigation::{Declared, Mentioned, definition, highlights, references, type_definition};
pub use outline::{Entry, Sort, outline};
pub use rename::{prepare as prepare_rename, rename};
pub use search::{Hit, search};
pub use selection::selection;
pub use streams::{Stream, downstream, thing_at, upstream};
pub use tokens::{Class, Coloured, tokens};
pub use world::{Change, World};
