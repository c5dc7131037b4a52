//! Quantities, units, and the published laws and tables of the trade.
//!
//! Everything here is a pure function of its arguments. This crate reads no files, keeps no state and knows nothing
//! about source text or editors. Every formula and table cites its source; "number from memory" marks a figure whose
//! standard was not opened.

pub mod air;
pub mod air_budget;
pub mod atmosphere;
pub mod battery;
pub mod colour;
pub mod compressor;
pub mod deadband;
pub mod decay;
pub mod estimate;
pub mod feeds;
pub mod index;
pub mod leak;
pub mod loads;
pub mod loops;
pub mod measure;
pub mod moisture;
pub mod network;
pub mod protection;
pub mod standard;
pub mod trade_size;
pub mod units;
pub mod water;
pub mod wire;

mod friction;

#[cfg(test)]
mod figures;
#[cfg(test)]
mod noise;
