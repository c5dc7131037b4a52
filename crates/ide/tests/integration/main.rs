//! Every request of an editor, on repositories in memory.
#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test fails by a panic"
)]
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    clippy::disallowed_macros,
    reason = "tests read files, start programs and print figures"
)]

mod actions;
mod assemblies;
mod completion;
mod hints;
mod hover;
mod layout;
mod names;
mod neighbours;
mod outline;
mod routes;
mod shape;
