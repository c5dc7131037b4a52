use std::borrow::Cow;
use std::fmt::{self, Write};
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock, PoisonError, RwLock};

use drysheath_office::SETTINGS;
use drysheath_rules::{Finding, RuleId, Settings, of_problems};
use drysheath_syntax::Problem;
use drysheath_text::{FileId, TextRange};
use rustc_hash::FxHashMap;

use crate::digest::Digest;
use crate::snapshot::Snapshot;
use crate::source::FileSource;

/// Offices with the same settings: those of a whole repository, or of a folder in one that has settings of its own. The
/// root of a repository is the topmost folder with settings, or else the folder that the user named.
pub struct Repository {
    /// The folder that `use` paths are relative to.
    pub root: Arc<Path>,
    /// The folder whose settings apply: the root or one below it.
    pub folder: Arc<Path>,
    /// The settings scope above that folder, up to the root.
    pub above: Option<Arc<Self>>,
    /// The settings in force: of its own `drysheath.toml`, then of those above, then the defaults.
    pub settings: Arc<Settings>,
    /// Settings file of the repository, if there is one.
    pub settings_file: Option<FileId>,
    /// Digest of the settings files in force, and of their locations.
    pub settings_digest: Digest,
    /// Problems of the settings, as results on that file.
    pub findings: Vec<Finding>,
    /// Why the settings, or anything in the repository, could not be read.
    pub unreadable: Option<String>,
    /// Whether its language is newer than this program: then nothing in it is read.
    pub is_too_new: bool,
    real_root: OnceLock<Option<PathBuf>>,
    /// Files looked up by `use` so far.
    used: RwLock<FxHashMap<Box<str>, UsedFile>>,
    /// Whether folders below the root are links, or within one, as far as they were looked at.
    linked_folders: RwLock<FxHashMap<PathBuf, bool>>,
}

/// A file that a `use` names.
#[derive(Clone, Copy, Debug)]
pub(crate) struct UsedFile {
    pub file: FileId,
    /// Whether there is a link in its path below the root.
    pub is_linked: bool,
}

impl Repository {
    fn open(folder: &Path, above: Option<&Arc<Self>>, snapshot: &Snapshot) -> Self {
        let path = folder.join(SETTINGS);
        let mut repository = Self {
            root: above.map_or_else(|| folder.into(), |above| Arc::clone(&above.root)),
            folder: folder.into(),
            above: above.cloned(),
            settings: above.map(|above| Arc::clone(&above.settings)).unwrap_or_default(),
            settings_file: None,
            settings_digest: above.map_or(Digest::of(b""), |above| above.settings_digest),
            findings: Vec::new(),
            unreadable: None,
            is_too_new: above.is_some_and(|above| above.is_too_new),
            real_root: OnceLock::new(),
            used: RwLock::default(),
            linked_folders: RwLock::default(),
        };
        if repository.is_too_new {
            return repository;
        }
        let file = snapshot.file(&path);
        match snapshot.content(file) {
            Ok(Some((_, content))) => {
                repository.settings_digest = Digest::of_pieces([
                    repository.settings_digest.as_bytes().as_slice(),
                    repository.path_from_root(&path, snapshot).as_bytes(),
                    content.text.as_bytes(),
                ]);
                let (settings, mut problems) = match above {
                    None => Settings::of_repository(&content.text),
                    Some(above) => above
                        .settings
                        .with(&content.text, &repository.path_from_root(&path, snapshot)),
                };
                if let Some(why) = settings.too_new() {
                    // Other unknown entries may be valid in the newer language.
                    problems = vec![Problem::new(RuleId::SettingsUnreadable, TextRange::default(), &*why)];
                    repository.unreadable = Some(format!("{}: {why}", path.display()));
                    repository.is_too_new = true;
                }
                let bytes = content
                    .problem
                    .map(|problem| problem.with_id(RuleId::SettingsUnreadable));
                let problems: Vec<_> = problems.into_iter().chain(bytes).collect();
                repository.findings = of_problems(&problems, file, &settings);
                repository.settings = Arc::new(settings);
                repository.settings_file = Some(file);
            }
            Ok(None) => {}
            Err(why) => repository.unreadable = Some(format!("{}: {why}", path.display())),
        }
        repository
    }

    /// The file that a `use` names.
    pub(crate) fn file_used(&self, name: &str, find: impl FnOnce() -> UsedFile) -> UsedFile {
        let known = self
            .used
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .get(name)
            .copied();
        known.unwrap_or_else(|| {
            let file = find();
            let mut used = self.used.write().unwrap_or_else(PoisonError::into_inner);
            used.insert(name.into(), file);
            file
        })
    }

    /// Whether a path below the root goes through a link.
    pub(crate) fn is_linked(&self, path: &Path, source: &dyn FileSource) -> bool {
        source.is_link(path)
            || path
                .parent()
                .is_some_and(|folder| self.is_linked_folder(folder, source))
    }

    fn is_linked_folder(&self, folder: &Path, source: &dyn FileSource) -> bool {
        if *folder == *self.root || folder.as_os_str().is_empty() {
            return false;
        }
        let known = self
            .linked_folders
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .get(folder)
            .copied();
        known.unwrap_or_else(|| {
            let is_linked = self.is_linked(folder, source);
            let mut known = self.linked_folders.write().unwrap_or_else(PoisonError::into_inner);
            known.insert(folder.to_owned(), is_linked);
            is_linked
        })
    }

    /// Whether its root is a folder with settings.
    fn has_settings(&self) -> bool {
        self.above.is_some() || self.settings_file.is_some() || self.unreadable.is_some()
    }

    /// The settings files in force, the nearest first.
    pub fn settings_files(&self) -> impl Iterator<Item = FileId> + '_ {
        std::iter::successors(Some(self), |below| below.above.as_deref()).filter_map(|of| of.settings_file)
    }

    /// The root with all links resolved.
    pub(crate) fn real_root(&self, snapshot: &Snapshot) -> Option<&Path> {
        let real = self.real_root.get_or_init(|| snapshot.source.real_path(&self.root));
        real.as_deref()
    }

    /// Path of a file from the root without extension, as in a `use`.
    pub(crate) fn name_of(&self, path: &Path, snapshot: &Snapshot) -> String {
        slashed(&self.inner(path, snapshot).with_extension(""))
    }

    /// Path of a file from the root, with `/`.
    pub(crate) fn path_from_root(&self, path: &Path, snapshot: &Snapshot) -> String {
        slashed(&self.inner(path, snapshot))
    }

    fn inner<'p>(&self, path: &'p Path, snapshot: &Snapshot) -> Cow<'p, Path> {
        if let Ok(inner) = path.strip_prefix(&self.root) {
            return inner.into();
        }
        // A root found above the current folder has another form than paths below that folder.
        let real = snapshot.source.real_path(path);
        let inner = real.as_deref().zip(self.real_root(snapshot));
        let inner = inner.and_then(|(path, root)| path.strip_prefix(root).ok());
        inner.map_or(path.into(), |inner| inner.to_owned().into())
    }
}

/// The innermost of the named folders that contains `folder`, or else `folder` itself.
fn innermost<'p>(named: &'p [PathBuf], folder: &'p Path) -> &'p Path {
    let around = named.iter().filter(|named| folder.starts_with(named));
    let innermost = around.max_by_key(|named| named.components().count());
    innermost.map_or(folder, PathBuf::as_path)
}

/// A path with `/` between its components on every system. Bytes that are not valid text are shown by their values, so
/// that different paths stay different.
pub fn slashed(path: &Path) -> String {
    let mut out = String::new();
    for part in path.components() {
        if part == Component::RootDir {
            out.push('/');
            continue;
        }
        if !out.is_empty() && !out.ends_with('/') {
            out.push('/');
        }
        for chunk in part.as_os_str().as_encoded_bytes().utf8_chunks() {
            out.push_str(chunk.valid());
            for byte in chunk.invalid() {
                let _ = write!(out, "\\x{byte:02x}");
            }
        }
    }
    out
}

/// A path as the user gave it, for output: with `/` on Windows too, where it is also valid, so that output is the same
/// everywhere. A path that starts with `\\` is only valid with backslashes.
pub(crate) fn shown(path: &Path) -> String {
    let shown = path.display().to_string();
    if cfg!(windows) && !shown.starts_with(r"\\") {
        shown.replace('\\', "/")
    } else {
        shown
    }
}

impl fmt::Debug for Repository {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter
            .debug_struct("Repository")
            .field("root", &self.root)
            .field("folder", &self.folder)
            .finish_non_exhaustive()
    }
}

type ByPath = FxHashMap<PathBuf, Arc<Repository>>;

/// The repositories opened so far, by the folders of files. Valid until settings or named folders change.
#[derive(Debug, Default)]
pub(crate) struct Repositories {
    /// The folders that the user named, or that an editor works in.
    folders: Vec<PathBuf>,
    by_folder: RwLock<ByPath>,
    /// By the folders of their settings, or by their roots if they have none.
    opened: Mutex<ByPath>,
}

impl Repositories {
    pub fn folders(&self) -> &[PathBuf] {
        &self.folders
    }

    /// The repository of the files in a folder.
    pub fn of_folder(&self, folder: &Path, snapshot: &Snapshot) -> Arc<Repository> {
        let known = self
            .by_folder
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .get(folder)
            .cloned();
        if let Some(known) = known {
            return known;
        }
        let mut folders = snapshot.source.settings_above(folder);
        let root = folders.pop().unwrap_or_else(|| self.innermost(folder).to_owned());
        let repository = {
            let mut opened = self.opened.lock().unwrap_or_else(PoisonError::into_inner);
            let mut open = |folder: PathBuf, above: Option<&Arc<Repository>>| {
                let slot = opened.entry(folder);
                Arc::clone(slot.or_insert_with_key(|folder| Arc::new(Repository::open(folder, above, snapshot))))
            };
            let whole = open(root, None);
            let below = folders.into_iter().rev();
            below.fold(whole, |above, folder| open(folder, Some(&above)))
        };
        let mut by_folder = self.by_folder.write().unwrap_or_else(PoisonError::into_inner);
        by_folder.insert(folder.to_owned(), Arc::clone(&repository));
        repository
    }

    /// The innermost of the named folders that contains `folder`, or else `folder` itself.
    pub fn innermost<'p>(&'p self, folder: &'p Path) -> &'p Path {
        innermost(&self.folders, folder)
    }

    /// All that were opened, sorted by folder.
    pub fn all(&self) -> Vec<Arc<Repository>> {
        let opened = self.opened.lock().unwrap_or_else(PoisonError::into_inner);
        let mut all: Vec<_> = opened.values().cloned().collect();
        all.sort_by(|one, other| one.folder.cmp(&other.folder));
        all
    }

    /// The repositories with other named folders.
    pub fn in_folders(&self, folders: Vec<PathBuf>) -> Self {
        let opened = self.opened.lock().unwrap_or_else(PoisonError::into_inner).clone();
        let mut by_folder = self.by_folder.read().unwrap_or_else(PoisonError::into_inner).clone();
        // Below a folder with settings, named folders do not matter.
        by_folder.retain(|folder, known| known.has_settings() || innermost(&folders, folder) == &*known.root);
        Self {
            folders,
            by_folder: RwLock::new(by_folder),
            opened: Mutex::new(opened),
        }
    }

    /// The repositories after the settings in `folder` were added, removed or changed, which affects all settings below
    /// it.
    pub fn with_settings_changed(&self, folder: &Path) -> Self {
        let mut opened = self.opened.lock().unwrap_or_else(PoisonError::into_inner).clone();
        opened.retain(|other, _| !other.starts_with(folder));
        let mut by_folder = self.by_folder.read().unwrap_or_else(PoisonError::into_inner).clone();
        by_folder.retain(|other, _| !other.starts_with(folder));
        Self {
            folders: self.folders.clone(),
            by_folder: RwLock::new(by_folder),
            opened: Mutex::new(opened),
        }
    }
}
