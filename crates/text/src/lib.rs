//! Byte ranges, positions and edits. This crate knows nothing of the language.

mod edit;
mod lines;
mod range;
pub mod safe;

pub use edit::{Edit, apply};
pub use lines::{Encoding, LineIndex, Position};
pub use range::{FileId, Place, TextRange};
