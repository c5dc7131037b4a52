//! Language versions of words, and the replacements in later versions.

use super::Key;

/// The language version of this program. It reads all earlier ones.
pub const LANGUAGE: u32 = 1;

/// The first program version that reads a language version. A language version is numbered after the minor version that
/// introduces it, so that a program can name the version required for a newer language.
pub fn first_version(language: u32) -> String {
    format!("0.{language}.0")
}

/// The removal of a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Removal {
    /// The last language version with the word.
    pub until: u32,
    /// What replaces it in the current language.
    pub successor: Successor,
}

/// Replacement of a removed word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Successor {
    /// Another field of the same thing.
    Field(Key),
    /// A `spare` statement on numbers of the thing's port of that name.
    Spare(&'static str),
}

/// A word within a statement that has been replaced.
#[derive(Clone, Copy, Debug)]
pub struct FormerWord {
    /// Word used in earlier language versions.
    pub word: &'static str,
    /// Construct that used the word, for messages: "reading of a decay test".
    pub of: &'static str,
    /// The last language version with the word.
    pub until: u32,
    /// Word that replaces it in the current language.
    pub now: &'static str,
}

/// Duration of a decay test.
pub(crate) const DECAY_TIME: FormerWord = FormerWord {
    word: "in",
    of: "reading of a decay test",
    until: 0,
    now: "over",
};

/// All replaced words within statements.
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
