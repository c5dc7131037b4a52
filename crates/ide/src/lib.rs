//! What an editor asks, answered from one immutable [`Analysis`] of a file. This room knows no protocol and reads no disk:
//! the [`World`] is told what is open, asks a [`Disk`] for the rest, and answers in byte ranges.

mod analysis;
mod card;
mod disk;
mod folding;
mod free;
mod hints;
mod hover;
mod lenses;
mod links;
mod looks;
mod repository;
mod selection;
mod sensing;
mod spoken;
mod spots;
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
pub use lenses::{Lens, lenses};
pub use links::{Link, Target, links};
pub use selection::selection;
pub use tokens::{Class, Coloured, tokens};
pub use world::{Change, World};
