//! What people and programs read: comparisons, predictions, records and results.
#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test fails by a panic"
)]

mod compare;
mod figures;
mod fit;
mod identity;
mod records;
mod results;
mod settings_schema;
mod sizing;
mod states;
mod view;
