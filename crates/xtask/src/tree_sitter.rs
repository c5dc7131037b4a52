//! Generates the tree-sitter parser from its grammar, with a tool that takes minutes to build, and records what it was generated
//! from, so that a test can tell without the tool whether the parser is that of the grammar.

use std::fmt::Write as _;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::digest::sha256;
use crate::process::run;
use crate::tools::TREE_SITTER;

const FOLDER: &str = "grammar/tree-sitter-office";
/// Where it is recorded what the parser was generated from.
const RECORD: &str = "src/generated.sha256";
/// The grammar, and what is generated from it.
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
/// If the tool cannot be installed, or the grammar or a case of the corpus is wrong.
pub fn tree_sitter(root: &Path) -> Result<(), String> {
    let program = TREE_SITTER.program(root)?;
    let folder = root.join(FOLDER);
    let tool = |words: &[&str]| run(Command::new(&program).args(words).current_dir(&folder));
    // The newest form that Emacs 29 and 30 of the usual distributions read; everybody else reads it too.
    tool(&["generate", "--abi", "14"])?;
    tool(&["test"])?;
    let digests = digests(root).map_err(|error| error.to_string())?;
    fs::write(record(root), digests).map_err(|error| error.to_string())
}

/// The digests of the grammar and of what is generated from it, as `sha256sum` prints them.
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

/// The digests when the parser was generated.
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
