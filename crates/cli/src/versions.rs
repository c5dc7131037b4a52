//! Opens the two states of a repository that are compared: a folder, a revision of git, or its working tree.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_disk::{EXTENSION, Found, SETTINGS, Text, read, read_from, walk};
use drysheath_report::{Content, Version, Versions};

use crate::git::{Blob, Git};

/// The two states, and what could not be read of them.
pub(crate) struct Opened {
    pub versions: Versions,
    pub troubles: Vec<String>,
}

/// What each file says, by its path from the top.
type Contents = BTreeMap<String, Content>;

/// Opens what the user calls `base` and `head`; without a head it is the working tree, or the folder that the user stands in
/// where `base` is a folder.
pub(crate) fn open(base: &str, head: Option<&str>) -> io::Result<Opened> {
    let mut troubles = Vec::new();
    let opened = match (Path::new(base).is_dir(), head) {
        (true, None) => {
            let after = folder(Path::new("."), &mut troubles);
            let before = folder(Path::new(base), &mut troubles);
            versions((named(base), before), (named("this folder"), after))
        }
        (true, Some(head)) if Path::new(head).is_dir() => {
            let before = folder(Path::new(base), &mut troubles);
            versions(
                (named(base), before),
                (named(head), folder(Path::new(head), &mut troubles)),
            )
        }
        (base_is_folder, Some(head)) if base_is_folder || Path::new(head).is_dir() => {
            // A folder's files have their paths from its top, as those of a revision have.
            let side = |called: &str, troubles: &mut Vec<String>| -> io::Result<(Version, Contents)> {
                if Path::new(called).is_dir() {
                    return Ok((named(called), folder(Path::new(called), troubles)));
                }
                let git = Git::around(Path::new("."))?;
                let commit = git.commit(called)?;
                let blobs = files_of(&git, &commit)?;
                let all: Vec<&Blob> = blobs.iter().collect();
                let contents = read_blobs(&git, &all)?;
                let contents = blobs
                    .iter()
                    .zip(contents)
                    .map(|(blob, content)| (blob.path.clone(), content));
                Ok((Version::new(called.to_owned(), Some(commit)), contents.collect()))
            };
            let before = side(base, &mut troubles)?;
            versions(before, side(head, &mut troubles)?)
        }
        (_, Some(head)) => revisions(base, head)?,
        (false, None) => working_tree(base, &mut troubles)?,
    };
    Ok(Opened {
        versions: opened,
        troubles,
    })
}

/// One revision of the tree that `folder` lies in, with nothing after it; and the folder at the top of that tree.
pub(crate) fn before(called: &str, folder: &Path) -> io::Result<(Versions, PathBuf)> {
    let git = Git::around(folder)?;
    let base = revision(&git, called)?;
    Ok((
        versions(base, (named("nothing"), Contents::new())),
        git.top().to_owned(),
    ))
}

fn revision(git: &Git, called: &str) -> io::Result<(Version, Contents)> {
    let commit = git.commit(called)?;
    let blobs = files_of(git, &commit)?;
    let all: Vec<&Blob> = blobs.iter().collect();
    let contents = read_blobs(git, &all)?;
    let contents = blobs
        .iter()
        .zip(contents)
        .map(|(blob, content)| (blob.path.clone(), content));
    Ok((Version::new(called.to_owned(), Some(commit)), contents.collect()))
}

fn named(called: &str) -> Version {
    Version::new(called.to_owned(), None)
}

fn versions(base: (Version, Contents), head: (Version, Contents)) -> Versions {
    let mut both: BTreeMap<String, (Option<Content>, Option<Content>)> = BTreeMap::new();
    for (path, content) in base.1 {
        both.entry(path).or_default().0 = Some(content);
    }
    for (path, content) in head.1 {
        both.entry(path).or_default().1 = Some(content);
    }
    Versions::new(base.0, head.0, both)
}

/// Two revisions. What git calls by the same name in both is read once.
fn revisions(base: &str, head: &str) -> io::Result<Versions> {
    let git = Git::around(Path::new("."))?;
    let commits = (git.commit(base)?, git.commit(head)?);
    let (before, after) = (files_of(&git, &commits.0)?, files_of(&git, &commits.1)?);
    let mut objects: Vec<&Blob> = before.iter().chain(&after).collect();
    let mut seen = HashSet::new();
    objects.retain(|blob| seen.insert(blob.object.as_str()));
    let contents = read_blobs(&git, &objects)?;
    let by_object: HashMap<&str, Content> = objects.iter().map(|blob| blob.object.as_str()).zip(contents).collect();
    let side = |blobs: &[Blob]| -> Contents {
        let found = blobs.iter().filter_map(|blob| {
            let content = by_object.get(blob.object.as_str())?;
            Some((blob.path.clone(), content.clone()))
        });
        found.collect()
    };
    Ok(versions(
        (Version::new(base.to_owned(), Some(commits.0)), side(&before)),
        (Version::new(head.to_owned(), Some(commits.1)), side(&after)),
    ))
}

/// A revision and the working tree. What git says is the same is read from the tree alone.
fn working_tree(base: &str, troubles: &mut Vec<String>) -> io::Result<Versions> {
    let git = Git::around(Path::new("."))?;
    let commit = git.commit(base)?;
    let before = files_of(&git, &commit)?;
    let changed: HashSet<String> = git.changed_since(&commit)?.into_iter().collect();
    let mut after = Contents::new();
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
        .partition(|blob| !changed.contains(&blob.path) && !blob.is_link && after.contains_key(&blob.path));
    let others: Vec<&Blob> = other.iter().collect();
    let contents = read_blobs(&git, &others)?;
    let mut known: Contents = other.iter().map(|blob| blob.path.clone()).zip(contents).collect();
    for blob in same {
        if let Some(content) = after.get(&blob.path) {
            known.insert(blob.path, content.clone());
        }
    }
    let base = Version::new(base.to_owned(), Some(commit));
    Ok(versions((base, known), (named("working tree"), after)))
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

fn put(contents: &mut Contents, path: String, text: io::Result<Text>, troubles: &mut Vec<String>) {
    match text {
        Ok(text) => drop(contents.insert(path, content(text))),
        Err(error) => troubles.push(format!("{path}: {error}")),
    }
}

/// The files of a folder, which is the top of its repositories of offices.
fn folder(top: &Path, troubles: &mut Vec<String>) -> Contents {
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
    let mut contents = Contents::new();
    for path in found {
        let Ok(inner) = path.strip_prefix(top) else { continue };
        let parts: Vec<_> = inner
            .components()
            .map(|part| part.as_os_str().to_string_lossy())
            .collect();
        put(&mut contents, parts.join("/"), read(&path), troubles);
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
