//! Which languages have a word, and what takes its place in later ones.

use super::Key;

/// The language that this program writes. It reads all up to it.
pub const LANGUAGE: u32 = 1;

/// The version of this program that first reads a language. A language has the number of the minor version that brings it, so
/// that a program knows what to ask for where it meets one that is newer than itself.
pub fn first_version(language: u32) -> String {
    format!("0.{language}.0")
}

/// The end of a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gone {
    /// The last language that has it.
    pub until: u32,
    /// What says the same today.
    pub successor: Successor,
}

/// What says today what a word said that has gone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Successor {
    /// Another field of the same thing.
    Field(Key),
    /// A `spare` statement about numbers of the thing's port of that name.
    Spare(&'static str),
}

/// A word within a statement that is another one today.
#[derive(Clone, Copy, Debug)]
pub struct FormerWord {
    /// The word as it was.
    pub word: &'static str,
    /// What it is a word of.
    pub of: &'static str,
    /// The last language that has it.
    pub until: u32,
    /// Today's word.
    pub now: &'static str,
}

/// How long a decay test took.
pub(crate) const DECAY_TIME: FormerWord = FormerWord {
    word: "in",
    of: "reading of a decay test",
    until: 0,
    now: "over",
};

/// The words within statements that are others today.
pub static FORMER_WORDS: &[FormerWord] = &[DECAY_TIME];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn this_version_reads_its_own_language() {
        let [major, minor] = [env!("CARGO_PKG_VERSION_MAJOR"), env!("CARGO_PKG_VERSION_MINOR")]
            .map(|number| number.parse::<u32>().unwrap_or_default());
        assert!(
            major > 0 || minor >= LANGUAGE,
            "{} comes with {}",
            LANGUAGE,
            first_version(LANGUAGE)
        );
    }
}
