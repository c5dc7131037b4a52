//! TODO-power

use crate::rule::Rule;

pub(crate) static RULES: &[&Rule] = &[];
