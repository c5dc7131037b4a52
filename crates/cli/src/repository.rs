//! A repository of offices: the folder with `drysheath.toml`, its settings, and its files of parts.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use drysheath_disk::{EXTENSION, SETTINGS, read, root_above, similar};
use drysheath_office::{Library, Lookup, PartsFile};
use drysheath_rules::{Settings, SettingsProblem};
use drysheath_text::FileId;

use crate::files::FileTable;

/// A repository.
#[derive(Debug)]
pub(crate) struct Repository {
    pub root: PathBuf,
    pub settings: Settings,
    /// What is wrong with the settings, and the settings' text.
    pub problems: Option<(FileId, Arc<str>, Vec<SettingsProblem>)>,
    /// Why the settings could not be read at all.
    pub unreadable: Option<String>,
    files: Arc<FileTable>,
    parts: Mutex<HashMap<String, Arc<OnceLock<Lookup>>>>,
}

impl Repository {
    fn open(root: PathBuf, files: Arc<FileTable>) -> Self {
        let path = root.join(SETTINGS);
        let mut repository = Self {
            root,
            settings: Settings::default(),
            problems: None,
            unreadable: None,
            files,
            parts: Mutex::default(),
        };
        match read(&path) {
            Ok(text) => {
                let (settings, mut problems) = Settings::read(&text.text);
                repository.settings = settings;
                problems.extend(text.problem.map(|problem| SettingsProblem {
                    range: problem.range,
                    message: problem.message,
                    help: problem.help,
                }));
                if !problems.is_empty() {
                    let file = repository.files.add(&path);
                    let text: Arc<str> = text.text.into();
                    repository.files.keep(file, Arc::clone(&text));
                    repository.problems = Some((file, text, problems));
                }
            }
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {}
            Err(error) => repository.unreadable = Some(format!("{}: {error}", path.display())),
        }
        repository
    }

    /// A file's path from the root, without extension, as a `use` would name it.
    pub fn name_of(&self, path: &Path) -> String {
        let inner = match path.strip_prefix(&self.root) {
            Ok(inner) => inner.to_owned(),
            // The root was found above the folder that the user stands in, and so has another form.
            Err(_) => real_path_within(path, self.root_or_here()).unwrap_or_else(|| path.to_owned()),
        }
        .with_extension("");
        let parts: Vec<_> = inner
            .components()
            .map(|part| part.as_os_str().to_string_lossy())
            .collect();
        parts.join("/")
    }

    fn load(&self, name: &str) -> Lookup {
        let path = self.root.join(name).with_extension(EXTENSION);
        match (path.canonicalize(), self.root_or_here().canonicalize()) {
            (Ok(real), Ok(root)) if !real.starts_with(&root) => return Lookup::Outside,
            (Err(error), _) if error.kind() == std::io::ErrorKind::NotFound => return Lookup::Missing,
            _ => {}
        }
        match read(&path) {
            Err(error) => Lookup::Unreadable(error.to_string()),
            Ok(text) => {
                let file = self.files.add(&path);
                let unsure = text.problem.is_some();
                let text: Arc<str> = text.text.into();
                self.files.keep(file, Arc::clone(&text));
                let mut parts = PartsFile::read(file, name, text);
                parts.unsure |= unsure;
                Lookup::Found(Arc::new(parts))
            }
        }
    }

    fn root_or_here(&self) -> &Path {
        if self.root.as_os_str().is_empty() {
            Path::new(".")
        } else {
            &self.root
        }
    }
}

/// The way from `root` to `path`, whatever form either is given in.
fn real_path_within(path: &Path, root: &Path) -> Option<PathBuf> {
    let (path, root) = (path.canonicalize().ok()?, root.canonicalize().ok()?);
    path.strip_prefix(root).ok().map(Path::to_owned)
}

impl Library for Repository {
    fn find(&self, name: &str) -> Lookup {
        let slot = {
            let mut parts = self.parts.lock().unwrap_or_else(PoisonError::into_inner);
            match parts.get(name) {
                Some(slot) => Arc::clone(slot),
                None => Arc::clone(parts.entry(name.to_owned()).or_default()),
            }
        };
        slot.get_or_init(|| self.load(name)).clone()
    }

    fn similar(&self, name: &str) -> Option<String> {
        similar(self.root_or_here(), name)
    }
}

/// The repositories of one run, found by the folders that files lie in.
#[derive(Debug)]
pub(crate) struct Repositories {
    files: Arc<FileTable>,
    by_folder: Mutex<HashMap<PathBuf, Arc<Repository>>>,
    by_root: Mutex<HashMap<PathBuf, Arc<Repository>>>,
}

impl Repositories {
    pub fn new(files: Arc<FileTable>) -> Self {
        Self {
            files,
            by_folder: Mutex::default(),
            by_root: Mutex::default(),
        }
    }

    /// The repository that a file at `path` belongs to: the nearest folder above it with settings, or else `start`,
    /// the folder that the user named.
    pub fn of(&self, path: &Path, start: &Path) -> Arc<Repository> {
        let folder = path.parent().unwrap_or(Path::new(""));
        if let Some(known) = self
            .by_folder
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .get(folder)
        {
            return Arc::clone(known);
        }
        let root = root_above(folder).unwrap_or_else(|| start.to_owned());
        let repository = {
            let mut by_root = self.by_root.lock().unwrap_or_else(PoisonError::into_inner);
            let entry = by_root.entry(root.clone());
            Arc::clone(entry.or_insert_with(|| Arc::new(Repository::open(root, Arc::clone(&self.files)))))
        };
        self.by_folder
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .insert(folder.to_owned(), Arc::clone(&repository));
        repository
    }

    /// All of them, in the order of their roots.
    pub fn all(&self) -> Vec<Arc<Repository>> {
        let mut all: Vec<_> = self
            .by_root
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .values()
            .cloned()
            .collect();
        all.sort_by(|one, other| one.root.cmp(&other.root));
        all
    }
}
