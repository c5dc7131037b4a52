//! The record as a whole.

mod name_twice;

use crate::rule::Rule;

pub(crate) static RULES: &[&Rule] = &[&name_twice::RULE];
