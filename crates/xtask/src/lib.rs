//! Commands for developing this repository: generated files, generated counties, all checks, mutation tests and
//! benchmarks.
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    clippy::disallowed_macros,
    reason = "this crate does input and output"
)]

pub mod audit;
pub mod bench;
pub mod county;
mod digest;
pub mod dist;
pub mod fuzz;
pub mod generate;
pub mod mutants;
pub mod new_rule;
mod process;
pub mod silence;
pub mod slopes;
mod tools;
pub mod tree_sitter;
pub mod verify;
