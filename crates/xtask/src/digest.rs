//! Digests of files, as `sha256sum` prints them.

use std::fmt::Write as _;

use sha2::{Digest, Sha256};

/// The SHA-256 of some bytes, in hexadecimal digits.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::new(), |mut out, byte| {
        let _ = write!(out, "{byte:02x}");
        out
    })
}
