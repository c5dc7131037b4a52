use std::fmt::Write;

use drysheath_rules::Finding;
use rustc_hash::FxHashMap;
use sha2::{Digest, Sha256};

/// What distinguishes a result from the others and does not change when lines move or a message is reworded.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Fingerprint {
    /// By its rule, its file and the words of its line.
    pub own: String,
    /// The same without the file, by which it is known in a file that was renamed.
    pub line: String,
}

/// Gives each result its fingerprint: rule, file, and the words of its line, whatever blanks are between them. Of several that are
/// the same in all that, each has its number.
#[derive(Default)]
pub(crate) struct Fingerprints {
    seen: FxHashMap<String, u32>,
}

impl Fingerprints {
    /// `path` is that of the file that the result is in, `text` what it says.
    pub fn of(&mut self, finding: &Finding, path: &str, text: &str) -> Fingerprint {
        let words = words_of_line(text, finding.place.range.start as usize);
        let path = path.replace('\\', "/");
        let rule = finding.rule.name();
        let key = format!("{rule}\0{path}\0{words}");
        let number = self.seen.entry(key.clone()).or_default();
        *number += 1;
        Fingerprint {
            own: short_hash(format!("{key}\0{number}").as_bytes()),
            line: short_hash(format!("{rule}\0{words}\0{number}").as_bytes()),
        }
    }
}

/// The words of the line that a byte lies in, with one blank between them.
pub(super) fn words_of_line(text: &str, at: usize) -> String {
    let words: Vec<&str> = line_around(text, at).split_whitespace().collect();
    words.join(" ")
}

/// The line that a byte lies in.
fn line_around(text: &str, at: usize) -> &str {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    let start = text
        .get(..at)
        .and_then(|before| before.rfind('\n'))
        .map_or(0, |newline| newline + 1);
    let rest = text.get(start..).unwrap_or_default();
    rest.lines().next().unwrap_or_default()
}

fn short_hash(bytes: &[u8]) -> String {
    const SHORT: usize = 16;
    hash(bytes).chars().take(SHORT * 2).collect()
}

/// The SHA-256 of some bytes, in hexadecimal digits.
pub(super) fn hash(bytes: &[u8]) -> String {
    let mut out = String::new();
    for byte in Sha256::digest(bytes) {
        let _ = write!(out, "{byte:02x}");
    }
    out
}
