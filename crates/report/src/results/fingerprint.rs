use std::fmt::Write;

use drysheath_rules::Finding;
use rustc_hash::FxHashMap;
use sha2::{Digest, Sha256};

/// A key that identifies a result and does not change when lines move or a message is reworded.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Fingerprint {
    /// From its rule, its file and the words of its line.
    pub own: String,
    /// The same without the file, to find it in a renamed file.
    pub line: String,
}

/// Assigns fingerprints from rule, file, and the words of the line, regardless of blanks. Results with the same values
/// are numbered.
#[derive(Default)]
pub(crate) struct Fingerprints {
    seen: FxHashMap<String, u32>,
}

impl Fingerprints {
    /// The fingerprint of a result; `path` and `text` are those of its file.
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

/// The words of the line at a byte, separated by single blanks.
pub(super) fn words_of_line(text: &str, at: usize) -> String {
    let words: Vec<&str> = line_around(text, at).split_whitespace().collect();
    words.join(" ")
}

/// The line at a byte.
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

/// SHA-256 in hexadecimal digits.
pub(super) fn hash(bytes: &[u8]) -> String {
    let mut out = String::new();
    for byte in Sha256::digest(bytes) {
        let _ = write!(out, "{byte:02x}");
    }
    out
}
