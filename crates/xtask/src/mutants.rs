//! Mutation testing: does a test fail if the code is changed?

use std::collections::BTreeSet;
use std::ffi::OsString;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::process::{output, run};
use crate::tools::{MUTANTS, NEXTEST};

/// Crates that are not mutated: tests and tools of the repository.
const LEFT_OUT: [&str; 3] = ["fixture", "fuzz", "xtask"];

/// Minimum timeout for the tests of a mutant, in seconds: on a busy machine, five times the duration of the unchanged
/// tests may be too little, and the mutant would count as hanging.
const LEAST_TIMEOUT: &str = "120";

/// Mutates one place of a crate at a time and runs the crate's own tests. About `sample` places per crate are tried,
/// spread evenly: the same for one seed, and others for the next, until all have been tried.
///
/// # Errors
///
/// If a mutant survives, or the tool cannot be built.
pub fn mutants(root: &Path, chosen: Option<&str>, sample: usize, seed: usize) -> Result<(), String> {
    let tool = MUTANTS.command(root)?;
    let path = path_with(&NEXTEST.program(root)?)?;
    let outcomes = root.join("target/mutants");
    let copy = outcomes.join("tree");
    copy_tree(root, &copy)?;
    let mut survived = Vec::new();
    for name in crates(root)?
        .iter()
        .filter(|name| chosen.is_none_or(|chosen| chosen == *name))
    {
        let package = format!("drysheath-{name}");
        let begin = || {
            let mut command = tool();
            command.args(["--package", &package]).current_dir(&copy);
            command
        };
        let places = output(begin().arg("--list"))?.lines().count();
        let shards = places.div_ceil(sample.max(1)).max(1);
        println!("== {name}: one in {shards} of {places} places");
        let folder = outcomes.join(name);
        fs::create_dir_all(&folder).map_err(|error| error.to_string())?;
        let outcome = run(begin()
            .args([
                "--shard",
                &format!("{}/{shards}", seed % shards),
                "--sharding",
                "round-robin",
            ])
            .args(["--in-place", "--minimum-test-timeout", LEAST_TIMEOUT])
            .args(["--test-tool", "nextest", "--no-shuffle", "--output"])
            .arg(&folder)
            .env("PATH", &path)
            .env("CARGO_TARGET_DIR", outcomes.join("build")));
        if outcome.is_err() {
            survived.push(name.clone());
        }
    }
    if survived.is_empty() {
        Ok(())
    } else {
        Err(format!("see target/mutants: {}", survived.join(", ")))
    }
}

/// Updates a copy of the repository's files. It is always in the same folder, and unchanged files are not rewritten, so
/// that unchanged crates are not compiled again.
fn copy_tree(root: &Path, copy: &Path) -> Result<(), String> {
    let mut list = Command::new("git");
    list.args(["ls-files", "-z", "--cached", "--others", "--exclude-standard"]);
    let listed = output(list.current_dir(root))?;
    let files: BTreeSet<PathBuf> = listed.split_terminator('\0').map(PathBuf::from).collect();
    let copied = || {
        fs::create_dir_all(copy)?;
        remove_others(copy, copy, &files)?;
        for file in files.iter().filter(|file| root.join(file).is_file()) {
            let (from, to) = (root.join(file), copy.join(file));
            if fs::read(&to).ok() != Some(fs::read(&from)?) {
                fs::create_dir_all(to.parent().unwrap_or(copy))?;
                fs::copy(from, to)?;
            }
        }
        Ok(())
    };
    copied().map_err(|error: io::Error| format!("the repository cannot be copied to {}: {error}", copy.display()))
}

/// Removes files in the copy that are not in the repository.
fn remove_others(folder: &Path, copy: &Path, files: &BTreeSet<PathBuf>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let (path, kind) = entry.and_then(|entry| Ok((entry.path(), entry.file_type()?)))?;
        if kind.is_dir() {
            remove_others(&path, copy, files)?;
        } else if path.strip_prefix(copy).is_ok_and(|inner| !files.contains(inner)) {
            fs::remove_file(path)?;
        }
    }
    Ok(())
}

/// Search path with this program first: the tool runs `cargo nextest`, and cargo uses the first one found.
fn path_with(program: &Path) -> Result<OsString, String> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let folders = program.parent().into_iter().map(Path::to_owned);
    let folders = folders.filter(|folder| !folder.as_os_str().is_empty());
    std::env::join_paths(folders.chain(std::env::split_paths(&path))).map_err(|error| error.to_string())
}

fn crates(root: &Path) -> Result<Vec<String>, String> {
    let entries = fs::read_dir(root.join("crates")).map_err(|error| error.to_string())?;
    let mut names: Vec<String> = entries
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .filter(|name| !LEFT_OUT.contains(&name.as_str()))
        .collect();
    names.sort();
    Ok(names)
}
