//! One file per feature of the protocol: converts its parameters for the `ide` crate, and the answer back.

pub(crate) mod actions;
pub(crate) mod completion;
pub(crate) mod folding;
pub(crate) mod formatting;
pub(crate) mod hierarchy;
pub(crate) mod hints;
pub(crate) mod hover;
pub(crate) mod lenses;
pub(crate) mod links;
pub(crate) mod navigation;
pub(crate) mod pull;
pub(crate) mod rename;
pub(crate) mod sheet;
pub(crate) mod symbols;
pub(crate) mod tokens;
