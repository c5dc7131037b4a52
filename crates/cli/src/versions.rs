//! Opens the two states of a repository that are compared: a folder, a revision of git, or its working tree.

use std::collections::{HashMap, HashSet};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_disk::{EXTENSION, Found, SETTINGS, Text, read, read_from, walk};
use drysheath_report::Version;
use drysheath_workspace::{Content, Memory, slashed};

use crate::git::{Blob, Git};

/// The two states, and what could not be read of them.
pub(crate) struct Opened {
    pub base: Version,
    pub head: Version,
    pub troubles: Vec<String>,
}

/// Opens what the user calls `base` and `head`; without a head it is the working tree, or the folder that the user stands in
/// where `base` is a folder.
pub(crate) fn open(base: &str, head: Option<&str>) -> io::Result<Opened> {
    let mut troubles = Vec::new();
    let is_folder = |called: &str| Path::new(called).is_dir();
    let (base, head) = match (is_folder(base), head) {
        (true, None) => {
            let after = folder(Path::new("."), &mut troubles);
            let before = folder(Path::new(base), &mut troubles);
            (named(base, before), named("this folder", after))
        }
        (base_is_folder, Some(head)) if base_is_folder || is_folder(head) => {
            // A folder's files have their paths from its top, as those of a revision have.
            let mut side = |called: &str| -> io::Result<Version> {
                if is_folder(called) {
                    return Ok(named(called, folder(Path::new(called), &mut troubles)));
                }
                revision(&Git::around(Path::new("."))?, called)
            };
            (side(base)?, side(head)?)
        }
        (_, Some(head)) => revisions(base, head)?,
        (false, None) => working_tree(base, &mut troubles)?,
    };
    Ok(Opened { base, head, troubles })
}

/// One revision of the tree that `folder` lies in, and the folder at the top of that tree.
pub(crate) fn before(called: &str, folder: &Path) -> io::Result<(Version, PathBuf)> {
    let git = Git::around(folder)?;
    Ok((revision(&git, called)?, git.top().to_owned()))
}

fn revision(git: &Git, called: &str) -> io::Result<Version> {
    let commit = git.commit(called)?;
    let blobs = files_of(git, &commit)?;
    let all: Vec<&Blob> = blobs.iter().collect();
    let contents = read_blobs(git, &all)?;
    let paths = blobs.iter().map(|blob| blob.path.clone());
    Ok(Version {
        called: called.to_owned(),
        commit: Some(commit),
        files: paths.zip(contents).collect(),
    })
}

fn named(called: &str, files: Memory) -> Version {
    Version {
        called: called.to_owned(),
        commit: None,
        files,
    }
}

/// Two revisions. What git calls by the same name in both is read once.
fn revisions(base: &str, head: &str) -> io::Result<(Version, Version)> {
    let git = Git::around(Path::new("."))?;
    let commits = (git.commit(base)?, git.commit(head)?);
    let (before, after) = (files_of(&git, &commits.0)?, files_of(&git, &commits.1)?);
    let mut objects: Vec<&Blob> = before.iter().chain(&after).collect();
    let mut seen = HashSet::new();
    objects.retain(|blob| seen.insert(blob.object.as_str()));
    let contents = read_blobs(&git, &objects)?;
    let by_object: HashMap<&str, Content> = objects.iter().map(|blob| blob.object.as_str()).zip(contents).collect();
    let side = |called: &str, commit: String, blobs: &[Blob]| {
        let found = blobs.iter().filter_map(|blob| {
            let content = by_object.get(blob.object.as_str())?;
            Some((blob.path.clone(), content.clone()))
        });
        Version {
            called: called.to_owned(),
            commit: Some(commit),
            files: found.collect(),
        }
    };
    Ok((side(base, commits.0, &before), side(head, commits.1, &after)))
}

/// A revision and the working tree. What git says is the same is read from the tree alone.
fn working_tree(base: &str, troubles: &mut Vec<String>) -> io::Result<(Version, Version)> {
    let git = Git::around(Path::new("."))?;
    let commit = git.commit(base)?;
    let before = files_of(&git, &commit)?;
    let changed: HashSet<String> = git.changed_since(&commit)?.into_iter().collect();
    let mut after = Memory::default();
    for path in git.files()?.into_iter().filter(|path| is_ours(path)) {
        let whole = git.top().join(&path);
        // What was removed is still tracked; what leads out of the tree is no file of it.
        let is_inside = whole.canonicalize().is_ok_and(|real| is_below(&real, git.top()));
        if is_inside {
            put(&mut after, path, read(&whole), troubles);
        }
    }
    let (same, other): (Vec<_>, Vec<_>) = before
        .into_iter()
        .partition(|blob| !changed.contains(&blob.path) && !blob.is_link && after.get(&blob.path).is_some());
    let others: Vec<&Blob> = other.iter().collect();
    let contents = read_blobs(&git, &others)?;
    let mut known: Memory = other.iter().map(|blob| blob.path.clone()).zip(contents).collect();
    for blob in same {
        if let Some(content) = after.get(&blob.path) {
            known.insert(blob.path, content.clone());
        }
    }
    let base = Version {
        called: base.to_owned(),
        commit: Some(commit),
        files: known,
    };
    Ok((base, named("working tree", after)))
}

fn is_below(path: &Path, top: &Path) -> bool {
    top.canonicalize().is_ok_and(|top| path.starts_with(top))
}

fn is_ours(path: &str) -> bool {
    let path = Path::new(path);
    path.extension().is_some_and(|extension| extension == EXTENSION)
        || path.file_name().is_some_and(|name| name == SETTINGS)
}

/// Our files of a commit. A link is the file that it leads to, where that is one of the same commit.
fn files_of(git: &Git, commit: &str) -> io::Result<Vec<Blob>> {
    let all = git.files_of(commit)?;
    let links: Vec<&Blob> = all.iter().filter(|blob| blob.is_link && is_ours(&blob.path)).collect();
    let objects: Vec<&str> = links.iter().map(|blob| blob.object.as_str()).collect();
    let targets = git.read(&objects)?;
    let by_path: HashMap<&str, &Blob> = all.iter().map(|blob| (blob.path.as_str(), blob)).collect();
    let mut ours: Vec<Blob> = all
        .iter()
        .filter(|blob| !blob.is_link && is_ours(&blob.path))
        .cloned()
        .collect();
    for (link, target) in links.iter().zip(targets) {
        let target = String::from_utf8_lossy(&target).into_owned();
        let found = beside(&link.path, &target).and_then(|path| by_path.get(path.as_str()).copied());
        ours.extend(found.filter(|found| !found.is_link).map(|found| Blob {
            path: link.path.clone(),
            ..found.clone()
        }));
    }
    Ok(ours)
}

/// The path from the top that `target` means in a link at `path`.
fn beside(path: &str, target: &str) -> Option<String> {
    let mut parts: Vec<&str> = path.split('/').collect();
    parts.pop();
    for part in target.split('/') {
        match part {
            "" => return None,
            "." => {}
            ".." => drop(parts.pop()?),
            _ => parts.push(part),
        }
    }
    Some(parts.join("/"))
}

fn read_blobs(git: &Git, blobs: &[&Blob]) -> io::Result<Vec<Content>> {
    let objects: Vec<&str> = blobs.iter().map(|blob| blob.object.as_str()).collect();
    let all = git.read(&objects)?;
    all.into_iter()
        .map(|bytes| read_from(bytes.as_slice(), bytes.len()).map(content))
        .collect()
}

fn content(text: Text) -> Content {
    Content {
        text: Arc::from(text.text),
        problem: text.problem,
    }
}

fn put(contents: &mut Memory, path: String, text: io::Result<Text>, troubles: &mut Vec<String>) {
    match text {
        Ok(text) => contents.insert(path, content(text)),
        Err(error) => troubles.push(format!("{path}: {error}")),
    }
}

/// The files of a folder, which is the top of its repositories of offices.
fn folder(top: &Path, troubles: &mut Vec<String>) -> Memory {
    let (mut found, mut failed): (Vec<PathBuf>, Vec<String>) = (Vec::new(), Vec::new());
    walk(
        &[top.to_owned()],
        None,
        || (Vec::new(), Vec::new()),
        |(files, failed): &mut (Vec<PathBuf>, Vec<String>), entry| match entry {
            Found::File { path, .. } => files.push(path.to_owned()),
            Found::Trouble(trouble) => failed.push(trouble),
        },
        |(files, troubles)| {
            found.extend(files);
            failed.extend(troubles);
        },
    );
    troubles.append(&mut failed);
    let folders: HashSet<PathBuf> = found
        .iter()
        .flat_map(|path| path.ancestors().skip(1))
        .map(Path::to_owned)
        .collect();
    let settings = folders.iter().map(|folder| folder.join(SETTINGS));
    found.extend(settings.filter(|path| path.is_file()));
    let top = top.strip_prefix(".").unwrap_or(top);
    let mut contents = Memory::default();
    for path in found {
        let Ok(inner) = path.strip_prefix(top) else { continue };
        put(&mut contents, slashed(inner), read(&path), troubles);
    }
    contents
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn links_are_followed_within_the_tree() {
        assert_eq!(
            beside("offices/a.office", "../north/b.office").as_deref(),
            Some("north/b.office")
        );
        assert_eq!(beside("a.office", "../b.office"), None);
        assert_eq!(beside("a.office", "/etc/b.office"), None);
    }
}
