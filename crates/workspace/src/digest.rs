use std::fmt;

/// What tells bytes from all others: nobody can make other bytes of the same digest (BLAKE3).
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Digest([u8; 32]);

impl Digest {
    /// The digest of bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(*blake3::hash(bytes).as_bytes())
    }

    /// The digest of several pieces, and of where one ends and the next begins.
    pub fn of_pieces<'p>(pieces: impl IntoIterator<Item = &'p [u8]>) -> Self {
        let mut hasher = blake3::Hasher::new();
        for piece in pieces {
            hasher.update(&(piece.len() as u64).to_le_bytes());
            hasher.update(piece);
        }
        Self(*hasher.finalize().as_bytes())
    }

    /// Its bytes.
    pub fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl From<[u8; 32]> for Digest {
    fn from(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }
}

/// In hexadecimal.
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
