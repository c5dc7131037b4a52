//! What comes out, to look at.

use drysheath_syntax::{format, formatted, parse};

use crate::{EXAMPLE, check};
