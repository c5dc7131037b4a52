//! The `drysheath` command, run as a program. All tests are one program: each more would have to be linked.
#![allow(
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

mod cache;
mod command;
mod common;
mod compare;
mod county;
mod edits;
mod gate;
#[cfg(unix)]
mod links;
mod merging;
mod migrate;
mod options;
mod predict;
#[cfg(unix)]
mod programs;
mod records;
mod replacement;
mod settings;
mod sheets;
#[cfg(unix)]
mod special;
mod start;
#[cfg(windows)]
mod windows;
#[cfg(unix)]
mod writing;
