//! Parts, and which files use which.

use std::cell::RefCell;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use drysheath_office::{EXTENSION, NamedStandardConditions, Part, PartsFile, PartsLookup, PartsSource};
use drysheath_text::FileId;
use rustc_hash::FxHashSet;

use crate::analysis::{Analysis, LoweredFile, MadeFrom, ProvidedContent, Used};
use crate::digest::Digest;
use crate::repository::{Repository, UsedFile};
use crate::snapshot::Snapshot;
use crate::source::Content;
use crate::version::{FileVersion, Lookup};

impl Snapshot {
    pub(crate) fn file_used(&self, repository: &Repository, name: &str) -> FileId {
        self.used_file(repository, name).file
    }

    fn used_file(&self, repository: &Repository, name: &str) -> UsedFile {
        repository.file_used(name, || {
            let path = repository.root.join(name).with_extension(EXTENSION);
            let is_linked = repository.is_linked(&path, &*self.source);
            let followed = is_linked
                .then(|| self.source.followed(&path, &repository.root))
                .flatten();
            UsedFile {
                file: self.file(&followed.unwrap_or(path)),
                is_linked,
            }
        })
    }

    /// The reason why a file of the source may not be used under this name in this repository.
    fn refusal(
        &self,
        repository: &Repository,
        name: &str,
        used: UsedFile,
        version: &FileVersion,
    ) -> Option<PartsLookup> {
        let is_plain = || {
            Path::new(name)
                .components()
                .all(|part| matches!(part, Component::Normal(_)))
        };
        if cfg!(target_os = "linux") && !used.is_linked && is_plain() {
            // Its path is what is written, in the only spelling that the system accepts.
            return None;
        }
        let path = || self.path(used.file);
        let real_path = version.real_path.get_or_init(|| self.source.real_path(&path()?));
        let is_outside = |real: &PathBuf| repository.real_root(self).is_some_and(|root| !real.starts_with(root));
        if real_path.as_ref().is_some_and(is_outside) {
            return Some(PartsLookup::Outside);
        }
        // A case-insensitive disk may accept a different spelling that another machine rejects: require the exact one,
        // so that results are the same everywhere.
        let is_called_otherwise = |real: &PathBuf| {
            let called = path().and_then(|path| Some(path.strip_prefix(&repository.root).ok()?.to_owned()));
            let inner = repository.real_root(self).and_then(|root| real.strip_prefix(root).ok());
            called
                .as_deref()
                .zip(inner)
                .is_some_and(|(called, inner)| called != inner)
        };
        real_path
            .as_ref()
            .is_some_and(is_called_otherwise)
            .then_some(PartsLookup::Missing)
    }

    fn find(&self, repository: &Repository, name: &str, used: UsedFile, version: &Arc<FileVersion>) -> Lookup {
        let file = used.file;
        if let Some(refusal) = self.refusal(repository, name, used, version) {
            return (refusal, None);
        }
        let standard = repository.settings.standard();
        let mut is_office = false;
        let found = version.parts.get(standard, || match self.content(file) {
            Err(why) => (PartsLookup::Unreadable(why), None),
            Ok(None) => (PartsLookup::Missing, Some(ProvidedContent::Nothing)),
            Ok(Some((_, content))) => {
                let given = given_by(&content);
                let mut parts = PartsFile::read(file, name, content.text, standard);
                parts.unsure |= content.problem.is_some();
                is_office = parts.office().is_some();
                (PartsLookup::Found(Arc::new(parts)), given)
            }
        });
        if is_office {
            self.recent.put(version);
        }
        found
    }

    /// The file with a name, and what it provides to files of a repository, in terms of its bytes: it is not parsed.
    /// `None` if that depends on more than its bytes.
    pub fn given(&self, repository: &Repository, name: &str) -> Option<(FileId, ProvidedContent)> {
        let used = self.used_file(repository, name);
        let file = used.file;
        let version = self.file_version(file);
        if self.refusal(repository, name, used, &version).is_some() {
            return None;
        }
        let read = || match self.content(file) {
            Err(_) => None,
            Ok(None) => Some(ProvidedContent::Nothing),
            Ok(Some((_, content))) => given_by(&content),
        };
        let given = version.parts.provided_or(|| *version.given.get_or_init(read))?;
        Some((file, given))
    }

    /// The part that a file calls `name`.
    pub fn part(&self, analysis: &Analysis, name: &str) -> Option<Arc<Part>> {
        let within = RepositoryParts::new(self, &analysis.repository);
        analysis.office.part_called(name, &analysis.name, &within)
    }

    /// The part that a file calls `name`, for a file that was only lowered.
    pub fn part_known_to(&self, file: &LoweredFile, name: &str) -> Option<Arc<Part>> {
        let within = RepositoryParts::new(self, &file.repository);
        file.office.part_called(name, &file.name, &within)
    }

    /// The parts within reach of a file: its own, and those of the files that it uses, directly or indirectly.
    pub fn parts_within_reach(&self, analysis: &Analysis) -> Vec<Arc<Part>> {
        let mut parts = analysis.office.parts.clone();
        let within = RepositoryParts::new(self, &analysis.repository);
        let uses = analysis.office.uses.iter().rev();
        let mut open: Vec<Box<str>> = uses.map(|used| used.value.clone()).collect();
        let mut seen: FxHashSet<Box<str>> = FxHashSet::from_iter([analysis.name.clone()]);
        while let Some(name) = open.pop() {
            if !seen.insert(name.clone()) {
                continue;
            }
            if let PartsLookup::Found(file) = within.find(&name) {
                let mut found: Vec<Arc<Part>> = file.parts.values().cloned().collect();
                found.sort_by(|one, other| one.name.cmp(&other.name));
                parts.extend(found);
                open.extend(file.uses.iter().cloned());
            }
        }
        parts
    }

    /// The file that another one refers to by a name, whether it exists or not.
    pub fn file_named(&self, by: FileId, name: &str) -> FileId {
        self.file_used(&self.repository(by), name)
    }

    /// The files within reach of a file with the names `named`, by `use` or by a route, directly or indirectly, sorted
    /// by name: the id of each, or `None` if it does not exist.
    pub fn files_within_reach<'n>(
        &self,
        file: FileId,
        named: impl IntoIterator<Item = &'n str>,
    ) -> Vec<(Box<str>, Option<FileId>)> {
        let repository = self.repository(file);
        let within = RepositoryParts::new(self, &repository);
        let mut open: Vec<Box<str>> = named.into_iter().map(Into::into).collect();
        let mut seen: FxHashSet<Box<str>> = FxHashSet::default();
        let mut reached = Vec::new();
        while let Some(name) = open.pop() {
            if !seen.insert(name.clone()) {
                continue;
            }
            let found = within.find(&name);
            let file = (!matches!(found, PartsLookup::Missing)).then(|| self.file_used(&repository, &name));
            if let PartsLookup::Found(parts) = found {
                open.extend(parts.uses.iter().cloned());
                open.extend(parts.ends.iter().cloned());
            }
            reached.push((name, file));
        }
        reached.sort_unstable();
        reached
    }

    /// The file of parts that a file refers to by a path, if it exists.
    pub fn used(&self, file: FileId, path: &str) -> Option<FileId> {
        let used = self.file_used(&self.repository(file), path);
        self.content(used).ok().flatten()?;
        Some(used)
    }

    /// The files in the repository of `file` that declare parts, as in a `use`, sorted by path. The cost depends on the
    /// number of such files, not on the number of offices.
    pub fn files_of_parts(&self, file: FileId) -> Vec<String> {
        let root = &self.repository(file).root;
        let is_own = |other: &FileId| self.repository(*other).root == *root;
        let mut files: Vec<FileId> = self.declare_parts.iter().copied().filter(is_own).collect();
        files.sort_by_cached_key(|file| self.path(*file));
        files.into_iter().map(|file| self.name(file)).collect()
    }

    /// Whether any known file declares a part with that name.
    pub fn declares_part(&self, name: &str) -> bool {
        let declares = |file: &FileId| {
            let results = self.files.get(file).and_then(|state| state.results.as_ref());
            results.is_some_and(|results| {
                results
                    .symbols
                    .iter()
                    .any(|symbol| symbol.is_part && symbol.name == name)
            })
        };
        self.declare_parts.iter().any(declares)
    }

    /// The files that directly use a file of parts.
    pub fn users_of(&self, file: FileId) -> Vec<FileId> {
        let names = |user: &FileId| {
            let results = self.files.get(user).and_then(|state| state.results.as_ref());
            results.is_some_and(|results| results.uses.contains(&file))
        };
        let mut users: Vec<FileId> = self.dependents(file).filter(names).collect();
        users.sort_unstable();
        users
    }

    /// The files whose results depend on a file, unordered.
    fn dependents(&self, file: FileId) -> impl Iterator<Item = FileId> {
        self.users.get(&file).into_iter().flatten().copied()
    }

    /// A file and all files whose results depend on it, directly or indirectly; the file comes first.
    pub fn with_users(&self, file: FileId) -> Vec<FileId> {
        let mut users: Vec<FileId> = self.dependents(file).collect();
        users.sort_unstable();
        std::iter::once(file).chain(users).collect()
    }
}

fn given_by(content: &Content) -> Option<ProvidedContent> {
    let is_whole = content.problem.is_none();
    is_whole.then(|| ProvidedContent::Text(Digest::of(content.text.as_bytes())))
}

/// The files that were looked up while a file was lowered.
pub(crate) struct LookedUpFiles {
    /// The files, without duplicates.
    pub files: MadeFrom,
    /// The files by each of their names. `None` once folders were listed.
    pub used: Option<Vec<Used>>,
}

/// The files of parts of one repository, looked up for its offices.
pub(crate) struct RepositoryParts<'s> {
    snapshot: &'s Snapshot,
    repository: &'s Repository,
    asked: RefCell<LookedUpFiles>,
    known: RefCell<FxHashSet<FileId>>,
}

impl<'s> RepositoryParts<'s> {
    pub fn new(snapshot: &'s Snapshot, repository: &'s Repository) -> Self {
        Self {
            snapshot,
            repository,
            asked: RefCell::new(LookedUpFiles {
                files: Vec::new(),
                used: Some(Vec::new()),
            }),
            known: RefCell::default(),
        }
    }

    /// The files that were looked up, existing or not.
    pub fn into_looked_up(self) -> LookedUpFiles {
        self.asked.into_inner()
    }
}

impl PartsSource for RepositoryParts<'_> {
    fn find(&self, name: &str) -> PartsLookup {
        let used = self.snapshot.used_file(self.repository, name);
        let file = used.file;
        let version = self.snapshot.file_version(file);
        let (found, given) = self.snapshot.find(self.repository, name, used, &version);
        let mut asked = self.asked.borrow_mut();
        if self.known.borrow_mut().insert(file) {
            asked.files.push((file, version));
        }
        if let Some(used) = asked
            .used
            .as_mut()
            .filter(|used| used.iter().all(|used| &*used.name != name))
        {
            used.push(Used {
                name: name.into(),
                file,
                given,
            });
        }
        found
    }

    fn names_in(&self, folder: &str) -> Vec<String> {
        self.asked.borrow_mut().used = None;
        self.snapshot.source.names_in(&self.repository.root, folder)
    }

    fn standard(&self) -> &'static NamedStandardConditions {
        self.repository.settings.standard()
    }
}
