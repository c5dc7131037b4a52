//! Opens the two states of a repository to compare: a folder, a git revision, or the working tree.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use drysheath_disk::{SETTINGS, find, is_top_of_git, read};
use drysheath_report::Version;
use drysheath_workspace::{Content, Memory, slashed};
use rayon::prelude::*;

use crate::git::{Git, Objects, is_ours};
use crate::standard_streams::print_error;

/// The two states, and problems with reading them.
pub(crate) struct ComparedVersions {
    pub base: Version,
    pub head: Version,
    pub troubles: Vec<String>,
    /// Notes on files that are not compared, which are not errors.
    pub notes: Vec<String>,
    /// Folders on disk that file paths of the head, and of the base, are relative to.
    pub tops: Vec<PathBuf>,
}

/// Opens `base` and `head` as named by the user. The default head is the working tree, or the current folder if `base`
/// is a folder.
///
/// # Errors
///
/// If a revision is unknown, or git cannot read its files.
pub(crate) fn open(base: &str, head: Option<&str>) -> io::Result<ComparedVersions> {
    let mut troubles = Vec::new();
    let mut notes = Vec::new();
    let is_folder = |called: &str| Path::new(called).is_dir();
    let top = |called: Option<&str>| match called.filter(|called| is_folder(called)) {
        Some(folder) => Ok(PathBuf::from(folder)),
        None => Git::around(Path::new(".")).map(|git| git.top().to_owned()),
    };
    let here = || Ok(PathBuf::new());
    let tops = match head {
        None if is_folder(base) => [here(), top(Some(base))],
        _ => [top(head), top(Some(base))],
    };
    let mut tops: Vec<PathBuf> = tops.into_iter().filter_map(io::Result::ok).collect();
    tops.dedup();
    let (base, head) = match head {
        None if is_folder(base) => {
            let after = folder(Path::new("."), &mut troubles);
            let before = folder(Path::new(base), &mut troubles);
            (named(base, before), named("this folder", after))
        }
        None => working_tree(base, &mut troubles, &mut notes)?,
        Some(head) => {
            let mut known = HashMap::new();
            for (folder, other) in [(base, head), (head, base)] {
                if is_folder(folder) && !is_folder(other) {
                    require_top(folder, other)?;
                }
            }
            // Paths are relative to the top of the folder, as those of a revision are to its root.
            let mut state = |called: &str| match Path::new(called) {
                path if path.is_dir() => Ok(named(called, folder(path, &mut troubles))),
                _ => revision(&Git::around(Path::new("."))?, called, &mut known, &mut notes),
            };
            (state(base)?, state(head)?)
        }
    };
    notes.sort();
    notes.dedup();
    Ok(ComparedVersions {
        base,
        head,
        troubles,
        notes,
        tops,
    })
}

/// Refuses to compare a folder inside the working tree with a revision of the whole tree: every file outside the folder
/// would count as removed. A folder with settings or a git tree of its own is allowed.
fn require_top(folder: &str, revision: &str) -> io::Result<()> {
    let Ok(git) = Git::around(Path::new(".")) else {
        return Ok(());
    };
    let real = drysheath_disk::canonical(Path::new(folder))?;
    let is_own = real == git.top() || is_top_of_git(&real) || real.join(SETTINGS).exists();
    if is_own || !real.starts_with(git.top()) {
        return Ok(());
    }
    let and_branch = match git.commit(&format!("refs/heads/{folder}")) {
        Ok(_) => format!("; the branch of that name is `refs/heads/{folder}`"),
        Err(_) => String::new(),
    };
    Err(io::Error::other(format!(
        "`{folder}` is a folder within the working tree, and `{revision}` is all of the tree: leave the folder out to compare \
         with the working tree{and_branch}"
    )))
}

/// A revision of the tree that contains `folder`, and the top folder of that tree.
///
/// # Errors
///
/// If the revision is unknown, or git cannot read its files.
pub(crate) fn before(called: &str, folder: &Path) -> io::Result<(Version, PathBuf)> {
    let git = Git::around(folder)?;
    let mut notes = Vec::new();
    let version = revision(&git, called, &mut HashMap::new(), &mut notes)?;
    notes.iter().for_each(print_error);
    Ok((version, git.top().to_owned()))
}

fn revision(
    git: &Git,
    called: &str,
    known: &mut HashMap<String, Content>,
    notes: &mut Vec<String>,
) -> io::Result<Version> {
    let commit = git.commit(called)?;
    let files = git.our_files(&git.tree(&commit)?, called, notes)?;
    Ok(Version {
        files: git.contents(files, known)?,
        commit: Some(commit),
        called: called.to_owned(),
    })
}

fn named(called: &str, files: Memory) -> Version {
    Version {
        called: called.to_owned(),
        commit: None,
        files,
    }
}

/// A revision and the working tree. Files that are the same in both are read only from the working tree.
fn working_tree(base: &str, troubles: &mut Vec<String>, notes: &mut Vec<String>) -> io::Result<(Version, Version)> {
    let git = Git::around(Path::new("."))?;
    let commit = git.commit(base)?;
    let tree = git.tree(&commit)?;
    let before = git.our_files(&tree, base, notes)?;
    let mut after = tracked(git.top(), troubles, notes);
    // Tracked files belong to the tree even if an ignore file excludes them.
    let last = git
        .commit("HEAD")
        .and_then(|commit| git.tree(&commit))
        .unwrap_or_default();
    let blobs = tree.blobs.iter().chain(&last.blobs);
    let ignored = blobs.filter(|blob| is_ours(&blob.path) && after.get(&blob.name).is_none());
    let ignored: BTreeMap<String, PathBuf> = ignored
        .map(|blob| (blob.name.clone(), git.top().join(&blob.path)))
        .collect();
    for (name, content) in contents(ignored, git.top(), troubles) {
        after.insert(name, content);
    }
    let objects = Objects::like(&commit);
    let read: Vec<&Content> = after.files().map(|(_, content)| content).collect();
    let known = read.par_iter().filter(|content| content.problem.is_none());
    let known = known.flat_map_iter(|content| {
        objects
            .names(content.text.as_bytes())
            .map(|name| (name, (*content).clone()))
    });
    let mut known: HashMap<String, Content> = known.collect();
    let base = Version {
        called: base.to_owned(),
        commit: Some(commit),
        files: git.contents(before, &mut known)?,
    };
    Ok((base, named("working tree", after)))
}

/// Files of a folder, which is taken as the top of its repositories.
pub(crate) fn folder(top: &Path, troubles: &mut Vec<String>) -> Memory {
    files_of(top, troubles, |_| true)
}

/// Files of a working tree without those of nested trees, which have commits of their own.
fn tracked(top: &Path, troubles: &mut Vec<String>, notes: &mut Vec<String>) -> Memory {
    let mut trees: HashMap<PathBuf, bool> = HashMap::new();
    files_of(top, troubles, |path| {
        let inside = path.ancestors().skip(1).take_while(|above| *above != top);
        let other = inside
            .filter(|above| *trees.entry((*above).to_owned()).or_insert_with(|| is_top_of_git(above)))
            .last();
        let Some(other) = other else { return true };
        let name = slashed(other.strip_prefix(top).unwrap_or(other));
        notes.push(format!("{name}: what is in this submodule is not compared"));
        false
    })
}

/// Files of a folder for which `wanted` holds. A link to one of them counts as that file.
fn files_of(top: &Path, troubles: &mut Vec<String>, mut wanted: impl FnMut(&Path) -> bool) -> Memory {
    let mut found = find(&[top.to_owned()]);
    found.files.retain(|path| wanted(path));
    found.links.retain(|(link, file)| wanted(link) && wanted(file));
    troubles.extend(found.troubles);
    let folders: HashSet<&Path> = found.files.iter().flat_map(|path| path.ancestors().skip(1)).collect();
    let settings: Vec<PathBuf> = folders.iter().map(|folder| folder.join(SETTINGS)).collect();
    let all = found.files.into_iter().chain(settings).map(|path| (path.clone(), path));
    let inner_top = top.strip_prefix(".").unwrap_or(top);
    // Files above the folder are not part of this state.
    let named = all.chain(found.links).filter_map(|(named, path)| {
        let inner = named.strip_prefix(inner_top).ok()?;
        Some((slashed(inner), path))
    });
    contents(named, top, troubles).into_iter().collect()
}

/// Contents of files, read on all cores, from pairs of name and path. Missing files are left out.
fn contents(
    named: impl IntoIterator<Item = (String, PathBuf)>,
    top: &Path,
    troubles: &mut Vec<String>,
) -> Vec<(String, Content)> {
    let read = |(name, path): (String, PathBuf)| match read(&path, Some(top)) {
        Ok(content) => Some(Ok((name, content))),
        Err(error) if matches!(error.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) => None,
        Err(error) => Some(Err(format!("{name}: {error}"))),
    };
    let named: Vec<_> = named.into_iter().collect();
    let contents: Vec<Result<_, String>> = named.into_par_iter().filter_map(read).collect();
    let found = contents.into_iter();
    found
        .filter_map(|content| content.map_err(|why| troubles.push(why)).ok())
        .collect()
}
