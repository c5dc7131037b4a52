//! Quantities, units and published tables.
