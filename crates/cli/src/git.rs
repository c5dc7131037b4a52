//! What git knows of files, asked by the `git` command.

use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

mod files;

pub(crate) use files::is_ours;

/// A working tree of git.
#[derive(Debug)]
pub(crate) struct Git {
    top: PathBuf,
}

/// A file of a revision.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Blob {
    /// Its path from the top, with `/`.
    pub path: String,
    /// The name that git has for its bytes.
    pub object: String,
    /// Whether it is a link, whose bytes are the path that it leads to.
    pub is_link: bool,
}

impl Git {
    /// The working tree that `folder` lies in.
    ///
    /// # Errors
    ///
    /// In words, if there is no such tree or no git.
    pub fn around(folder: &Path) -> io::Result<Self> {
        let folder = if folder.as_os_str().is_empty() {
            Path::new(".")
        } else {
            folder
        };
        let top = ask(folder, &["rev-parse", "--show-toplevel"])?;
        let top = String::from_utf8_lossy(&top).trim_end_matches(['\n', '\r']).to_owned();
        Ok(Self {
            top: PathBuf::from(top),
        })
    }

    /// The folder at the top of the tree.
    pub fn top(&self) -> &Path {
        &self.top
    }

    /// The commit that a revision names.
    ///
    /// # Errors
    ///
    /// In words, if it names none.
    pub fn commit(&self, revision: &str) -> io::Result<String> {
        let unknown = || {
            io::Error::other(format!(
                "git knows no revision `{revision}` here; name a branch, a tag or a commit that has been fetched"
            ))
        };
        // What looks like an option must not become one.
        if revision.is_empty() || revision.starts_with('-') {
            return Err(unknown());
        }
        let wanted = format!("{revision}^{{commit}}");
        let output = run(&self.top, &["rev-parse", "--verify", "--quiet", &wanted])?;
        if !output.status.success() {
            return Err(unknown());
        }
        Ok(String::from_utf8_lossy(&output.stdout).trim().to_owned())
    }

    /// The files of a commit.
    ///
    /// # Errors
    ///
    /// If git cannot tell.
    pub fn files_of(&self, commit: &str) -> io::Result<Vec<Blob>> {
        let listed = ask(&self.top, &["ls-tree", "-r", "-z", "--full-tree", commit])?;
        Ok(entries(&listed).filter_map(|entry| blob(&entry)).collect())
    }

    /// The files of the working tree that are tracked, or could be: their paths from the top. Files that were removed may
    /// be among them.
    ///
    /// # Errors
    ///
    /// If git cannot tell.
    pub fn files(&self) -> io::Result<Vec<String>> {
        let listed = ask(
            &self.top,
            &["ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        )?;
        let mut files: Vec<String> = entries(&listed).collect();
        files.sort_unstable();
        files.dedup();
        Ok(files)
    }

    /// What in the working tree differs from a commit, files that git does not track yet among them: paths from the top. A
    /// path that is a folder means all files in it.
    ///
    /// # Errors
    ///
    /// If git cannot tell.
    pub fn changed_since(&self, commit: &str) -> io::Result<Vec<String>> {
        let tracked = ask(
            &self.top,
            &[
                "diff",
                "--name-only",
                "-z",
                "--no-renames",
                "--no-ext-diff",
                commit,
                "--",
            ],
        )?;
        let untracked = ask(&self.top, &["ls-files", "-z", "--others", "--exclude-standard"])?;
        Ok(entries(&tracked).chain(entries(&untracked)).collect())
    }

    /// The bytes of objects, in the order of their names.
    ///
    /// # Errors
    ///
    /// If git cannot give one of them.
    pub fn read(&self, objects: &[&str]) -> io::Result<Vec<Vec<u8>>> {
        if objects.is_empty() {
            return Ok(Vec::new());
        }
        let mut child = command(&self.top, &["cat-file", "--batch", "--buffer"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(missing)?;
        let (Some(mut to), Some(from)) = (child.stdin.take(), child.stdout.take()) else {
            return Err(io::Error::other("git cannot be talked to"));
        };
        let read = std::thread::scope(|scope| {
            // Git answers while it is still asked: who first asks for everything may wait without end.
            let asking = scope.spawn(move || {
                let all: String = objects.iter().flat_map(|object| [object, "\n"]).collect();
                to.write_all(all.as_bytes())
            });
            let read = answers(&mut BufReader::new(from), objects);
            let asked = asking.join().map_err(|_| io::Error::other("git cannot be talked to"))?;
            let read = read?;
            // A reader that leaves early is not ours here: it is git that has failed.
            asked.map_err(|error| io::Error::other(format!("git does not listen: {error}")))?;
            Ok(read)
        });
        child.wait()?;
        read
    }
}

fn answers(from: &mut impl BufRead, objects: &[&str]) -> io::Result<Vec<Vec<u8>>> {
    let mut all = Vec::with_capacity(objects.len());
    for object in objects {
        let lost = || io::Error::other(format!("git cannot give the object {object}"));
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

/// The fields between zero bytes.
fn entries(listed: &[u8]) -> impl Iterator<Item = String> {
    listed
        .split(|byte| *byte == 0)
        .filter(|entry| !entry.is_empty())
        .map(|entry| String::from_utf8_lossy(entry).into_owned())
}

/// `100644 blob OBJECT<TAB>PATH`
fn blob(entry: &str) -> Option<Blob> {
    let (about, path) = entry.split_once('\t')?;
    let mut words = about.split(' ');
    let (mode, kind, object) = (words.next()?, words.next()?, words.next()?);
    (kind == "blob").then(|| Blob {
        path: path.to_owned(),
        object: object.to_owned(),
        is_link: mode == "120000",
    })
}

fn command(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new("git");
    command
        .arg("-C")
        .arg(folder)
        .args(arguments)
        .env("LC_ALL", "C")
        .env("GIT_OPTIONAL_LOCKS", "0");
    command
}

fn run(folder: &Path, arguments: &[&str]) -> io::Result<std::process::Output> {
    command(folder, arguments)
        .stdin(Stdio::null())
        .output()
        .map_err(missing)
}

fn ask(folder: &Path, arguments: &[&str]) -> io::Result<Vec<u8>> {
    let output = run(folder, arguments)?;
    if output.status.success() {
        return Ok(output.stdout);
    }
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    Err(io::Error::other(if said.contains("not a git repository") {
        format!(
            "{} lies in no git repository, so no revision can be looked up",
            folder.display()
        )
    } else {
        let first = said.lines().next().unwrap_or("nothing");
        format!("git says: {}", first.trim_start_matches("fatal: "))
    }))
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
        assert_eq!(
            error.map(|error| error.to_string()),
            Some("git cannot give the object one".to_owned())
        );
    }

    #[test]
    fn links_and_submodules_are_told_from_files() {
        let link = blob("120000 blob abc\toffices/a.office");
        assert_eq!(
            link.map(|blob| (blob.path, blob.is_link)),
            Some(("offices/a.office".to_owned(), true))
        );
        assert_eq!(blob("160000 commit abc\tsub"), None);
    }
}
