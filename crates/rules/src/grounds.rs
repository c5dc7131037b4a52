//! Frame grounds: each chassis has its own, of sufficient size, straight to the office's ground bar.

mod frame_ground_missing;

use crate::rule::Rule;

pub(crate) static RULES: &[&Rule] = &[&frame_ground_missing::RULE];
