//! Opens the two states of a repository that are compared: a folder, a revision of git, or its working tree.

use std::collections::{HashMap, HashSet};
use std::io;
use std::path::{Path, PathBuf};

use drysheath_disk::{SETTINGS, find, read};
use drysheath_report::Version;
use drysheath_workspace::{Content, Memory, slashed};

use crate::git::{Git, is_ours};

/// The two states, and what could not be read of them.
pub(crate) struct Opened {
    pub base: Version,
    pub head: Version,
    pub troubles: Vec<String>,
}

/// Opens what the user calls `base` and `head`; without a head it is the working tree, or the folder that the user stands in
/// where `base` is a folder.
///
/// # Errors
///
/// If a revision is not known, or git cannot give its files.
pub(crate) fn open(base: &str, head: Option<&str>) -> io::Result<Opened> {
    let mut troubles = Vec::new();
    let is_folder = |called: &str| Path::new(called).is_dir();
    let (base, head) = match head {
        None if is_folder(base) => {
            let after = folder(Path::new("."), &mut troubles);
            let before = folder(Path::new(base), &mut troubles);
            (named(base, before), named("this folder", after))
        }
        None => working_tree(base, &mut troubles)?,
        Some(head) => {
            let mut known = HashMap::new();
            // A folder's files have their paths from its top, as those of a revision have.
            let mut state = |called: &str| match Path::new(called) {
                path if path.is_dir() => Ok(named(called, folder(path, &mut troubles))),
                _ => revision(&Git::around(Path::new("."))?, called, &mut known),
            };
            (state(base)?, state(head)?)
        }
    };
    Ok(Opened { base, head, troubles })
}

/// One revision of the tree that `folder` lies in, and the folder at the top of that tree.
///
/// # Errors
///
/// If the revision is not known, or git cannot give its files.
pub(crate) fn before(called: &str, folder: &Path) -> io::Result<(Version, PathBuf)> {
    let git = Git::around(folder)?;
    Ok((revision(&git, called, &mut HashMap::new())?, git.top().to_owned()))
}

fn revision(git: &Git, called: &str, known: &mut HashMap<String, Content>) -> io::Result<Version> {
    let commit = git.commit(called)?;
    let files = git.our_files(&commit)?;
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

/// A revision and the working tree. What git says is the same is read from the tree alone.
fn working_tree(base: &str, troubles: &mut Vec<String>) -> io::Result<(Version, Version)> {
    let git = Git::around(Path::new("."))?;
    let commit = git.commit(base)?;
    let before = git.our_files(&commit)?;
    let changed: HashSet<String> = git.changed_since(&commit)?.into_iter().collect();
    let mut after = Memory::default();
    for path in git.files()?.into_iter().filter(|path| is_ours(path)) {
        let whole = git.top().join(&path);
        // What was removed is still tracked; what leads out of the tree is no file of it.
        let is_inside = whole.canonicalize().is_ok_and(|real| is_below(&real, git.top()));
        if is_inside {
            put(&mut after, path, &whole, troubles);
        }
    }
    let same = before
        .iter()
        .filter(|blob| !changed.contains(&blob.path) && !blob.is_link);
    let same = same.filter_map(|blob| Some((blob.object.clone(), after.get(&blob.path)?.clone())));
    let mut known = same.collect();
    let base = Version {
        called: base.to_owned(),
        commit: Some(commit),
        files: git.contents(before, &mut known)?,
    };
    Ok((base, named("working tree", after)))
}

fn is_below(path: &Path, top: &Path) -> bool {
    top.canonicalize().is_ok_and(|top| path.starts_with(top))
}

fn put(files: &mut Memory, name: String, path: &Path, troubles: &mut Vec<String>) {
    match read(path) {
        Ok(content) => files.insert(name, content),
        Err(error) => troubles.push(format!("{name}: {error}")),
    }
}

/// The files of a folder, which is the top of its repositories of offices.
fn folder(top: &Path, troubles: &mut Vec<String>) -> Memory {
    let mut found = find(top, troubles);
    let folders: HashSet<&Path> = found.iter().flat_map(|path| path.ancestors().skip(1)).collect();
    let settings: Vec<PathBuf> = folders.iter().map(|folder| folder.join(SETTINGS)).collect();
    found.extend(settings.into_iter().filter(|path| path.is_file()));
    let top = top.strip_prefix(".").unwrap_or(top);
    let mut files = Memory::default();
    for path in found {
        if let Ok(inner) = path.strip_prefix(top) {
            put(&mut files, slashed(inner), &path, troubles);
        }
    }
    files
}
