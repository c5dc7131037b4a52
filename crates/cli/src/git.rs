//! Reads commits through the `git` command, in a way that runs no program which the repository under review configures:
//! only commits, trees and blobs are read, never the working tree or the index, and nothing is fetched. Files of the
//! working tree are read by this program itself.

use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use drysheath_disk::is_top_of_git;
use rayon::prelude::*;

mod files;
mod object;
mod tree;

pub(crate) use files::is_ours;
pub(crate) use object::Objects;
pub(crate) use tree::{Blob, Tree};

/// A working tree of git.
#[derive(Debug)]
pub(crate) struct Git {
    top: PathBuf,
}

/// Minimum number of objects that makes another git process worthwhile.
const FEWEST_OBJECTS: usize = 1000;

/// Settings that override those of the repository. The commands used here do not depend on them today; they protect
/// against git versions that do more in these commands.
const SETTINGS: [&str; 4] = [
    "core.fsmonitor=false",
    "core.hooksPath=/dev/null",
    "protocol.allow=never",
    "safe.bareRepository=explicit",
];

impl Git {
    /// The working tree that `folder` lies in: the nearest folder with `.git`, whatever its settings say is the top of
    /// the tree.
    ///
    /// # Errors
    ///
    /// A message if there is no such tree.
    pub fn around(folder: &Path) -> io::Result<Self> {
        let folder = if folder.as_os_str().is_empty() {
            Path::new(".")
        } else {
            folder
        };
        let real = drysheath_disk::canonical(folder)?;
        let top = real.ancestors().find(|above| is_top_of_git(above));
        let top = top.ok_or_else(|| {
            io::Error::other(format!(
                "{} is not in a git repository, so no revision can be looked up",
                folder.display()
            ))
        })?;
        Ok(Self { top: top.to_owned() })
    }

    /// Top folder of the tree, with links resolved.
    pub fn top(&self) -> &Path {
        &self.top
    }

    /// Commit id of a revision.
    ///
    /// # Errors
    ///
    /// A message if the revision is unknown.
    pub fn commit(&self, revision: &str) -> io::Result<String> {
        let unknown = || {
            let how = if self.is_shallow() {
                "this clone is shallow: fetch all of its history with `git fetch --unshallow`, or have the CI host do so \
                 (fetch-depth: 0, or GIT_DEPTH: \"0\")"
            } else {
                "name a branch, a tag or a commit that has been fetched"
            };
            io::Error::other(format!("git knows no revision `{revision}` here; {how}"))
        };
        // Must not be taken for an option.
        if revision.is_empty() || revision.starts_with('-') {
            return Err(unknown());
        }
        // `:/text` searches for text up to its end, so the commit is requested in a second step.
        let object = self.verified(revision)?.ok_or_else(unknown)?;
        self.verified(&format!("{object}^{{commit}}"))?.ok_or_else(unknown)
    }

    /// Id of the object that a revision names.
    fn verified(&self, revision: &str) -> io::Result<Option<String>> {
        let output = self.run(&["rev-parse", "--verify", "--quiet", revision])?;
        let said = String::from_utf8_lossy(&output.stdout);
        let object = said.trim();
        let is_object = !object.is_empty() && object.bytes().all(|byte| byte.is_ascii_hexdigit());
        Ok((output.status.success() && is_object).then(|| object.to_owned()))
    }

    /// Whether this is a shallow clone.
    fn is_shallow(&self) -> bool {
        let output = self.run(&["rev-parse", "--is-shallow-repository"]);
        output.is_ok_and(|output| output.stdout.starts_with(b"true"))
    }

    /// All files of a commit.
    ///
    /// # Errors
    ///
    /// If git fails.
    pub fn tree(&self, commit: &str) -> io::Result<Tree> {
        let listed = self.ask(&["ls-tree", "-r", "-z", "--full-tree", commit])?;
        Ok(Tree::read(&listed))
    }

    /// Contents of objects, in the order given.
    ///
    /// # Errors
    ///
    /// If git cannot read one of them.
    pub fn read(&self, objects: &[&str]) -> io::Result<Vec<Vec<u8>>> {
        // One git process decompresses on one core.
        let share = objects.len().div_ceil(rayon::current_num_threads()).max(FEWEST_OBJECTS);
        let read = objects.par_chunks(share).map(|objects| self.read_by_one(objects));
        Ok(read.collect::<io::Result<Vec<_>>>()?.into_iter().flatten().collect())
    }

    fn read_by_one(&self, objects: &[&str]) -> io::Result<Vec<Vec<u8>>> {
        let mut child = self
            .command(&["cat-file", "--batch", "--buffer"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(missing)?;
        let (Some(mut to), Some(from)) = (child.stdin.take(), child.stdout.take()) else {
            return Err(io::Error::other("no answer comes from git"));
        };
        let read = std::thread::scope(|scope| {
            // Git answers while requests are still being written; writing all of them before reading may deadlock.
            let asking = scope.spawn(move || {
                let all: String = objects.iter().flat_map(|object| [object, "\n"]).collect();
                to.write_all(all.as_bytes())
            });
            let read = answers(&mut BufReader::new(from), objects);
            let asked = asking
                .join()
                .map_err(|_| io::Error::other("no answer comes from git"))?;
            let read = read?;
            // A broken pipe here means that git has failed.
            asked.map_err(|error| io::Error::other(format!("git takes no input: {error}")))?;
            Ok(read)
        });
        child.wait()?;
        read
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new("git");
        command.arg("--no-pager").arg("-C").arg(&self.top);
        for setting in SETTINGS {
            command.args(["-c", setting]);
        }
        command
            .args(arguments)
            .env("LC_ALL", "C")
            .env("GIT_OPTIONAL_LOCKS", "0")
            // Objects missing in a partial clone are not fetched: no protocol is allowed.
            .env("GIT_NO_LAZY_FETCH", "1")
            .env("GIT_ALLOW_PROTOCOL", "")
            .env("GIT_TERMINAL_PROMPT", "0")
            // Objects are read by their ids, without the replacements that the repository may define.
            .env("GIT_NO_REPLACE_OBJECTS", "1")
            // The repository is the one that contains the folder.
            .env("GIT_CEILING_DIRECTORIES", self.top.parent().unwrap_or(&self.top));
        for variable in ["GIT_DIR", "GIT_WORK_TREE", "GIT_COMMON_DIR", "GIT_INDEX_FILE"] {
            command.env_remove(variable);
        }
        command
    }

    fn run(&self, arguments: &[&str]) -> io::Result<std::process::Output> {
        let mut command = self.command(arguments);
        command.stdin(Stdio::null()).output().map_err(missing)
    }

    fn ask(&self, arguments: &[&str]) -> io::Result<Vec<u8>> {
        let output = self.run(arguments)?;
        if output.status.success() {
            return Ok(output.stdout);
        }
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        let first = said.lines().next().unwrap_or("nothing");
        Err(io::Error::other(format!(
            "git says: {}",
            first.trim_start_matches("fatal: ")
        )))
    }
}

fn answers(from: &mut impl BufRead, objects: &[&str]) -> io::Result<Vec<Vec<u8>>> {
    let mut all = Vec::with_capacity(objects.len());
    for object in objects {
        let lost = || {
            io::Error::other(format!(
                "git cannot give the object {object}: it is damaged, or has not been fetched, and nothing is fetched from here"
            ))
        };
        let mut header = String::new();
        from.read_line(&mut header)?;
        let size = header.trim_end().rsplit_once(" blob ").map(|(_, size)| size);
        let size: usize = size.and_then(|size| size.parse().ok()).ok_or_else(lost)?;
        let mut bytes = Vec::new();
        from.take(size as u64).read_to_end(&mut bytes)?;
        let mut line_end = [0];
        from.read_exact(&mut line_end)?;
        all.push(bytes);
    }
    Ok(all)
}

fn missing(error: io::Error) -> io::Error {
    if error.kind() == io::ErrorKind::NotFound {
        io::Error::new(
            error.kind(),
            "revisions are looked up with the command `git`, and there is none on the path: install git",
        )
    } else {
        error
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_are_read_by_their_size() {
        let given = b"one blob 4\na\n\nb\ntwo blob 0\n\n";
        let read = answers(&mut given.as_slice(), &["one", "two"]).ok();
        assert_eq!(read, Some(vec![b"a\n\nb".to_vec(), Vec::new()]));
    }

    #[test]
    fn an_object_that_is_missing_is_named() {
        let error = answers(&mut b"one missing\n".as_slice(), &["one"]).err();
        let said = error.map(|error| error.to_string()).unwrap_or_default();
        assert!(said.starts_with("git cannot give the object one:"), "{said}");
    }
}
