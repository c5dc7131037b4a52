//! Editor features, computed from an immutable `Analysis` of one file and, where other files matter, from an immutable
//! `Snapshot` of all. This crate knows no protocol, does not access the disk, changes no state, and uses byte ranges.

mod actions;
mod circuit;
mod completion;
mod explainer;
mod folding;
mod hints;
mod hover;
mod layout;
mod lenses;
mod line_edits;
mod links;
mod markup;
mod names;
mod navigation;
mod neighbours;
mod new_field;
mod notation;
mod outline;
mod pair_identity;
mod rename;
mod search;
mod selection;
mod spares;
mod statements;
mod tokens;
mod words;

pub use actions::{Action, ActionKind, actions, fixes_of_file};
pub use completion::{Completion, CompletionKind, completions};
pub use folding::{Fold, FoldKind, folding};
pub use hints::{Hint, hints};
pub use hover::{Hover, hover};
pub use layout::{lay_out, lay_out_range, lay_out_typed};
pub use lenses::{Lens, lenses};
pub use links::{DocumentLink, Target, links};
pub use markup::Markup;
pub use names::{Mention, Name, Owner, mentions, name_at};
pub use navigation::{Declaration, FileMentions, definition, highlights, references, type_definition};
pub use neighbours::{Neighbour, downstream, line_at, thing_at, upstream};
pub use outline::{OutlineItem, SymbolKind, outline};
pub use rename::{prepare as prepare_rename, rename};
pub use search::{Hit, search};
pub use selection::selection;
pub use tokens::{Class, Coloured, tokens};
