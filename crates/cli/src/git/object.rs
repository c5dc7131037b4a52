//! Computes git object ids, to compare a file with that of a commit without running git.

use std::fmt::Write;

use sha1::Sha1;
use sha2::{Digest, Sha256};

/// Hash function of a repository's object ids.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Objects {
    Sha1,
    Sha256,
}

impl Objects {
    /// Hash function that `object` was named with.
    pub fn like(object: &str) -> Self {
        const SHA256: usize = 64;
        if object.len() == SHA256 {
            Self::Sha256
        } else {
            Self::Sha1
        }
    }

    /// Id of a blob.
    pub fn name(self, bytes: &[u8]) -> String {
        let header = format!("blob {}\0", bytes.len());
        match self {
            Self::Sha1 => hexadecimal(&Sha1::new().chain_update(header).chain_update(bytes).finalize()),
            Self::Sha256 => hexadecimal(&Sha256::new().chain_update(header).chain_update(bytes).finalize()),
        }
    }

    /// Ids that the bytes of a file may have in a commit: of the bytes themselves, and with CRLF replaced by LF, since
    /// git may convert line ends on checkout.
    pub fn names(self, bytes: &[u8]) -> impl Iterator<Item = String> {
        let is_half = |(at, byte): &(usize, &u8)| **byte == b'\r' && bytes.get(at + 1) == Some(&b'\n');
        let has_crlf = bytes.windows(2).any(|pair| pair == b"\r\n");
        let unix = || {
            let kept = bytes.iter().enumerate().filter(|entry| !is_half(entry));
            kept.map(|(_, byte)| *byte).collect::<Vec<u8>>()
        };
        let as_unix = has_crlf.then(|| self.name(&unix()));
        std::iter::once(self.name(bytes)).chain(as_unix)
    }
}

fn hexadecimal(bytes: &[u8]) -> String {
    let mut out = String::new();
    for byte in bytes {
        let _ = write!(out, "{byte:02x}");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_names_are_those_of_git() {
        // Output of `git hash-object` for the same bytes.
        assert_eq!(
            Objects::Sha1.name(b"hello\n"),
            "ce013625030ba8dba906f756967f9e9ca394464a"
        );
        assert_eq!(
            Objects::Sha256.name(b"hello\n"),
            "2cf8d83d9ee29543b34a87727421fdecb7e3f3a183d337639025de576db9ebb4"
        );
        assert!(
            Objects::Sha1
                .names(b"hello\r\n")
                .any(|name| name == Objects::Sha1.name(b"hello\n"))
        );
    }
}
