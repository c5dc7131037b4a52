//! Pairs, signals and inputs: a pair carries one signal, from its device to one input.

mod pair_assigned_twice;

use crate::rule::Rule;

pub(crate) static RULES: &[&Rule] = &[&pair_assigned_twice::RULE];
