//! What the house does for itself: it generates and checks what is derived, writes counties of any size, and runs all
//! its tests.

pub mod county;
pub mod generate;
pub mod new_rule;
pub mod verify;
