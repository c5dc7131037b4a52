use std::fmt;

/// BLAKE3 digest of bytes.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Digest([u8; 32]);

impl Digest {
    /// Computes the digest of some bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(*blake3::hash(bytes).as_bytes())
    }

    /// Digest of several pieces, including the boundaries between them.
    pub fn of_pieces<'p>(pieces: impl IntoIterator<Item = &'p [u8]>) -> Self {
        let mut hasher = blake3::Hasher::new();
        for piece in pieces {
            hasher.update(&(piece.len() as u64).to_le_bytes());
            hasher.update(piece);
        }
        Self(*hasher.finalize().as_bytes())
    }

    /// The bytes of the digest.
    pub fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl From<[u8; 32]> for Digest {
    fn from(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }
}

/// As 64 hexadecimal digits.
impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Digest({self})")
    }
}
