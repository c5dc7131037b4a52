//! Byte ranges, positions and edits. This crate knows nothing of the language.

mod edit;
mod line_index;
mod range;
pub mod safe;

pub use edit::{Edit, apply};
pub use line_index::{Encoding, LineIndex, Position};
pub use range::{FileId, Place, TextRange};
