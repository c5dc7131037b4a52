//! The rules on whole offices.
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
#![allow(clippy::needless_raw_string_hashes, reason = "recorded expectations are written so")]

mod air_and_limits;
mod air_supply;
mod computed_air;
mod coverage;
mod damage;
mod expectations;
mod feeds_and_loops;
mod fit;
mod grounds_and_power;
mod leaks;
mod lint;
mod messages;
mod one_slip;
mod pieces;
mod precedence;
mod readings;
mod reference;
mod registry;
mod routes;
mod settings;
mod sizing;
mod stages;
mod together;
mod wiring;
