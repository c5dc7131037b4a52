//! Predictions of whole offices.
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

mod air;
mod damaged;
mod detection;
mod doubt;
mod feeds;
mod hold_ups;
mod leads;
mod leak_places;
mod leaking;
mod loops;
mod loops_over_routes;
mod over_time;
mod places;
mod planned;
mod shared_routes;
mod states;
mod systems;
