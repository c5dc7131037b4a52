//! Fuzz targets: whatever a file or a message says, nothing panics or overflows, and what is answered holds.
//!
//! Each tries texts for some seconds in every test run, and the same ones each time: a number of texts and no time, so that the outcome does
//! not depend on the machine. `cargo xtask fuzz` runs a number of executions of each, and `cargo bolero test
//! -p drysheath-fuzz --test targets NAME` lets a coverage-guided engine choose what to try.
//!
//! Texts are drawn by [`drysheath_fixture::Corpus`]; each file is one target.
#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test fails by a panic"
)]

mod bench;
mod compare;
mod conversation;
mod edits;
mod features;
mod format;
mod holds;
mod lint;
mod predict;
mod records;
mod reread;
mod results;
mod settings;
mod sheets;
mod states;
