//! The two states that are compared: their files, their repositories, and the parts within reach of a file.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use drysheath_office::{Library, Lookup, PartsFile, SETTINGS, nearest};
use drysheath_rules::{Settings, SettingsProblem};
use drysheath_syntax::Problem;
use drysheath_text::FileId;
use rustc_hash::FxHashMap;

use crate::Files;

/// The ending of offices and files of parts.
const ENDING: &str = ".office";

/// What a file says.
#[derive(Clone, Debug, Default)]
pub struct Content {
    /// Its text, as far as it is one.
    pub text: Arc<str>,
    /// What is wrong with its bytes.
    pub problem: Option<Problem>,
}

/// One of the two states.
#[derive(Clone, Debug)]
pub struct Version {
    /// What the user calls it.
    pub called: String,
    /// The commit, of a revision.
    pub commit: Option<String>,
    files: BTreeMap<Box<str>, FileId>,
}

/// Two states of the same files. A file that is the same in both is one file.
#[derive(Debug)]
pub struct Versions {
    files: Vec<(Box<str>, Content)>,
    pub(super) base: Version,
    pub(super) head: Version,
}

/// Where a file is in each of the two.
#[derive(Clone, Debug)]
pub(super) struct Entry<'v> {
    pub path: &'v str,
    pub base: Option<FileId>,
    pub head: Option<FileId>,
}

impl Version {
    /// A state without files.
    pub fn new(called: String, commit: Option<String>) -> Self {
        Self {
            called,
            commit,
            files: BTreeMap::new(),
        }
    }
}

impl Versions {
    /// Two states by what each file says in each of them. Paths count from the top, with `/`.
    pub fn new(
        mut base: Version,
        mut head: Version,
        contents: BTreeMap<String, (Option<Content>, Option<Content>)>,
    ) -> Self {
        let mut files: Vec<(Box<str>, Content)> = Vec::new();
        for (path, (before, after)) in contents {
            let path: Box<str> = path.into();
            let is_same = match (&before, &after) {
                (Some(before), Some(after)) => before.text == after.text && before.problem == after.problem,
                _ => false,
            };
            let mut put = |content: Option<Content>| {
                content.map(|content| {
                    files.push((path.clone(), content));
                    FileId(files.len() as u32 - 1)
                })
            };
            let before = put(before);
            let after = if is_same { before } else { put(after) };
            base.files.extend(before.map(|file| (path.clone(), file)));
            head.files.extend(after.map(|file| (path.clone(), file)));
        }
        Self { files, base, head }
    }

    /// What a file says.
    pub(crate) fn content(&self, file: FileId) -> Content {
        self.files
            .get(file.0 as usize)
            .map(|(_, content)| content.clone())
            .unwrap_or_default()
    }

    /// The offices and files of parts of both, by their paths.
    pub(super) fn entries(&self) -> Vec<Entry<'_>> {
        let mut entries: BTreeMap<&str, Entry<'_>> = BTreeMap::new();
        for (version, is_base) in [(&self.base, true), (&self.head, false)] {
            for (path, file) in version.files.iter().filter(|(path, _)| path.ends_with(ENDING)) {
                let entry = entries.entry(path).or_insert(Entry {
                    path,
                    base: None,
                    head: None,
                });
                let slot = if is_base { &mut entry.base } else { &mut entry.head };
                *slot = Some(*file);
            }
        }
        entries.into_values().collect()
    }
}

impl Files for Versions {
    fn path(&self, file: FileId) -> &str {
        self.files.get(file.0 as usize).map_or("", |(path, _)| path)
    }

    fn text(&self, file: FileId) -> &str {
        self.files.get(file.0 as usize).map_or("", |(_, content)| &content.text)
    }
}

/// A state with its repositories of offices.
pub(crate) struct Side<'v> {
    pub versions: &'v Versions,
    version: &'v Version,
    /// By their folders, each with a `/` at its end.
    roots: BTreeMap<&'v str, Root<'v>>,
}

/// A folder with settings: what `use` counts from.
pub(crate) struct Root<'v> {
    versions: &'v Versions,
    version: &'v Version,
    /// The folder, with a `/` at its end, or nothing for the top.
    pub folder: &'v str,
    pub settings: Settings,
    pub settings_file: Option<FileId>,
    /// What is wrong with the settings.
    pub problems: Vec<SettingsProblem>,
    parts: Mutex<FxHashMap<Box<str>, Lookup>>,
}

impl<'v> Side<'v> {
    /// The earlier of two states.
    pub fn base(versions: &'v Versions) -> Self {
        Self::new(versions, &versions.base)
    }

    /// The offices and files of parts of the state, by their paths.
    pub fn files(&self) -> impl Iterator<Item = (&'v str, FileId)> {
        let files = self.version.files.iter().filter(|(path, _)| path.ends_with(ENDING));
        files.map(|(path, file)| (&**path, *file))
    }

    pub fn new(versions: &'v Versions, version: &'v Version) -> Self {
        let root = |folder: &'v str, settings_file: Option<FileId>| {
            let (settings, problems) = match settings_file {
                Some(file) => Settings::read(versions.text(file)),
                None => (Settings::default(), Vec::new()),
            };
            Root {
                versions,
                version,
                folder,
                settings,
                settings_file,
                problems,
                parts: Mutex::default(),
            }
        };
        let mut roots: BTreeMap<&str, Root<'v>> = BTreeMap::from([("", root("", None))]);
        for (path, file) in &version.files {
            if let Some(folder) = path.strip_suffix(SETTINGS)
                && (folder.is_empty() || folder.ends_with('/'))
            {
                roots.insert(folder, root(folder, Some(*file)));
            }
        }
        Self {
            versions,
            version,
            roots,
        }
    }

    /// The repository that a file belongs to.
    pub fn root_of(&self, path: &str) -> Option<&Root<'v>> {
        let mut folder = path;
        loop {
            let end = folder.trim_end_matches('/').rfind('/').map_or(0, |slash| slash + 1);
            folder = folder.get(..end)?;
            if let Some(root) = self.roots.get(folder) {
                return Some(root);
            }
        }
    }

    pub fn roots(&self) -> impl Iterator<Item = &Root<'v>> {
        self.roots.values()
    }

    pub fn root_at(&self, folder: &str) -> Option<&Root<'v>> {
        self.roots.get(folder)
    }
}

impl Root<'_> {
    /// A file's path from here, without its ending, as a `use` would name it.
    pub fn name_of<'p>(&self, path: &'p str) -> &'p str {
        let inner = path.strip_prefix(self.folder).unwrap_or(path);
        inner.strip_suffix(ENDING).unwrap_or(inner)
    }

    /// The file that a `use` names.
    pub fn file(&self, name: &str) -> Option<FileId> {
        let path = format!("{}{name}{ENDING}", self.folder);
        self.version.files.get(path.as_str()).copied()
    }

    fn load(&self, name: &str) -> Lookup {
        let Some(file) = self.file(name) else {
            return Lookup::Missing;
        };
        let content = self.versions.content(file);
        let mut parts = PartsFile::read(file, name, content.text);
        parts.unsure |= content.problem.is_some();
        Lookup::Found(Arc::new(parts))
    }
}

impl Library for Root<'_> {
    fn find(&self, name: &str) -> Lookup {
        let mut parts = self.parts.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = parts.get(name) {
            return known.clone();
        }
        let found = self.load(name);
        parts.insert(name.into(), found.clone());
        found
    }

    fn similar(&self, name: &str) -> Option<String> {
        let folder = name
            .rfind('/')
            .map_or("", |slash| name.get(..=slash).unwrap_or_default());
        let names = self.version.files.keys().filter_map(|path| {
            let inner = path.strip_prefix(self.folder)?.strip_suffix(ENDING)?;
            let is_beside = inner.strip_prefix(folder).is_some_and(|stem| !stem.contains('/'));
            is_beside.then_some(inner)
        });
        nearest(name, names).map(str::to_owned)
    }
}
