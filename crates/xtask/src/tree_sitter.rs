//! Generates the tree-sitter parser from its grammar, with a tool that takes minutes to build, and records digests of
//! the files, so that a test can check without the tool whether the parser matches the grammar.

use std::fmt::Write as _;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::digest::sha256;
use crate::process::run;
use crate::tools::TREE_SITTER;

const FOLDER: &str = "grammar/tree-sitter-office";
/// File with the recorded digests.
const RECORD: &str = "src/generated.sha256";
/// The grammar and the files generated from it.
const FILES: [&str; 5] = [
    "grammar.js",
    "words.json",
    "src/grammar.json",
    "src/node-types.json",
    "src/parser.c",
];

/// Generates the parser, runs its corpus, and records the digests.
///
/// # Errors
///
/// If the tool cannot be installed, or the grammar or a test of the corpus fails.
pub fn tree_sitter(root: &Path) -> Result<(), String> {
    let program = TREE_SITTER.program(root)?;
    let folder = root.join(FOLDER);
    let tool = |words: &[&str]| run(Command::new(&program).args(words).current_dir(&folder));
    // The latest ABI that Emacs 29 and 30 of common distributions support; other editors support it too.
    tool(&["generate", "--abi", "14"])?;
    tool(&["test"])?;
    let digests = digests(root).map_err(|error| error.to_string())?;
    fs::write(record(root), digests).map_err(|error| error.to_string())
}

/// Digests of the grammar and the files generated from it, in the format of `sha256sum`.
///
/// # Errors
///
/// If a file cannot be read.
pub fn digests(root: &Path) -> io::Result<String> {
    let mut digests = String::new();
    for file in FILES {
        let digest = sha256(&fs::read(root.join(FOLDER).join(file))?);
        let _ = writeln!(digests, "{digest}  {file}");
    }
    Ok(digests)
}

/// Digests recorded when the parser was generated.
///
/// # Errors
///
/// If they cannot be read.
pub fn recorded_digests(root: &Path) -> io::Result<String> {
    fs::read_to_string(record(root))
}

fn record(root: &Path) -> PathBuf {
    root.join(FOLDER).join(RECORD)
}
