//! All files that are known, open or not, and the order in which what has changed is looked at again.

use std::cell::RefCell;
use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_office::{Date, EXTENSION, Lookup, Part, PartsFile, SETTINGS, Summary};
use drysheath_rules::{Finding, Settings, is_wide, lint_repository, of_problem};
use drysheath_text::{Edit, FileId, LineIndex, TextRange};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::analysis::{Analysis, Given};
use crate::disk::{Disk, OnDisk};
use crate::repository::{Parts, Repository};
use crate::roll::Roll;

/// Analyses that are kept whole; of other files their results are kept. An editor asks about what it shows.
const KEPT: usize = 12;

/// A change of an open text, as an editor tells it.
#[derive(Clone, Debug)]
pub enum Change {
    /// The whole text anew.
    Whole(String),
    /// What stands between two positions, each line and column in the agreed encoding.
    Part {
        /// Where it starts.
        start: drysheath_text::Position,
        /// Where it ends.
        end: drysheath_text::Position,
        /// What stands there instead.
        text: String,
    },
}

/// A text that an editor has open.
struct Open {
    version: i32,
    text: Arc<str>,
}

struct Entry {
    path: Arc<Path>,
    root: PathBuf,
    open: Option<Open>,
    /// Its own results, as of the last look.
    findings: Vec<Finding>,
    /// The version that they are of.
    seen: Option<i32>,
    /// Goes up whenever its results change.
    revision: u64,
    /// Whether it waits to be looked at.
    waits: bool,
    /// The files of parts that it names, whether they exist or not.
    uses: Vec<PathBuf>,
    /// The names that it declares.
    roll: Roll,
    gone: bool,
}

/// All files that are known.
pub struct World {
    disk: Box<dyn Disk>,
    today: Date,
    folders: Vec<PathBuf>,
    entries: Vec<Entry>,
    by_path: FxHashMap<Arc<Path>, FileId>,
    repositories: FxHashMap<PathBuf, Repository>,
    /// The root of each folder that was asked for.
    roots: FxHashMap<PathBuf, PathBuf>,
    /// Files of parts that were asked for.
    parts: RefCell<FxHashMap<PathBuf, Lookup>>,
    /// Paths that a look found in use and that have no entry yet.
    wanted: RefCell<Vec<PathBuf>>,
    /// Of each file of parts those that name it.
    users: FxHashMap<PathBuf, FxHashSet<FileId>>,
    /// What waits to be looked at: open files first.
    urgent: VecDeque<FileId>,
    later: VecDeque<FileId>,
    kept: VecDeque<Arc<Analysis>>,
}

impl World {
    /// A world with nothing in it.
    pub fn new(disk: Box<dyn Disk>, today: Date) -> Self {
        Self {
            disk,
            today,
            folders: Vec::new(),
            entries: Vec::new(),
            by_path: FxHashMap::default(),
            repositories: FxHashMap::default(),
            roots: FxHashMap::default(),
            parts: RefCell::default(),
            wanted: RefCell::default(),
            users: FxHashMap::default(),
            urgent: VecDeque::new(),
            later: VecDeque::new(),
            kept: VecDeque::new(),
        }
    }

    /// The folders that the editor works in. A file without settings above it belongs to the innermost of them. The files
    /// that have no results any more, since nobody works in their folder.
    pub fn set_folders(&mut self, folders: Vec<PathBuf>) -> Vec<FileId> {
        let before = std::mem::replace(&mut self.folders, folders);
        self.roots.clear();
        let mut left = Vec::new();
        for number in 0..self.entries.len() {
            let file = FileId(number as u32);
            self.place(file);
            let Some(entry) = self.entries.get(number) else {
                continue;
            };
            let is_in = |folders: &[PathBuf]| folders.iter().any(|folder| entry.path.starts_with(folder));
            if entry.open.is_none() && is_in(&before) && !is_in(&self.folders) {
                if let Some(entry) = self.entries.get_mut(number) {
                    entry.waits = false;
                }
                left.extend(self.take_in(file, Vec::new(), None, Vec::new(), None));
            } else if entry.open.is_some() || !entry.gone {
                self.wait(file);
            }
        }
        left
    }

    /// The folders that the editor works in.
    pub fn folders(&self) -> &[PathBuf] {
        &self.folders
    }

    fn entry(&self, file: FileId) -> Option<&Entry> {
        self.entries.get(file.0 as usize)
    }

    fn entry_mut(&mut self, file: FileId) -> Option<&mut Entry> {
        self.entries.get_mut(file.0 as usize)
    }

    /// The number of a file, which it keeps for ever.
    pub fn file(&mut self, path: &Path) -> FileId {
        if let Some(file) = self.by_path.get(path) {
            return *file;
        }
        let file = self.enter(path, PathBuf::new());
        self.place(file);
        file
    }

    /// A new entry for a path that has none.
    fn enter(&mut self, path: &Path, root: PathBuf) -> FileId {
        let file = FileId(self.entries.len() as u32);
        let path: Arc<Path> = path.into();
        self.by_path.insert(Arc::clone(&path), file);
        self.entries.push(Entry {
            path,
            root,
            open: None,
            findings: Vec::new(),
            seen: None,
            revision: 0,
            waits: false,
            uses: Vec::new(),
            roll: Roll::default(),
            gone: false,
        });
        file
    }

    /// The number of a file that is known.
    pub fn known(&self, path: &Path) -> Option<FileId> {
        self.by_path.get(path).copied()
    }

    /// The path of a file.
    pub fn path(&self, file: FileId) -> Option<Arc<Path>> {
        self.entry(file).map(|entry| Arc::clone(&entry.path))
    }

    /// All files that are known and there.
    pub fn files(&self) -> impl Iterator<Item = FileId> {
        let there = |(_, entry): &(u32, &Entry)| !entry.gone || entry.open.is_some();
        (0..).zip(&self.entries).filter(there).map(|(number, _)| FileId(number))
    }

    /// Whether an editor has a file open.
    pub fn is_open(&self, file: FileId) -> bool {
        self.entry(file).is_some_and(|entry| entry.open.is_some())
    }

    /// The editor's version of a file.
    pub fn version(&self, file: FileId) -> Option<i32> {
        Some(self.entry(file)?.open.as_ref()?.version)
    }

    /// Goes up whenever a file's results change.
    pub fn revision(&self, file: FileId) -> u64 {
        self.entry(file).map_or(0, |entry| entry.revision)
    }

    /// Puts a file into its repository.
    fn place(&mut self, file: FileId) {
        let Some(path) = self.path(file) else { return };
        let folder = path.parent().unwrap_or(Path::new("")).to_owned();
        let root = match self.roots.get(&folder) {
            Some(root) => root.clone(),
            None => {
                let root = self.disk.root_above(&folder).unwrap_or_else(|| self.folder_of(&folder));
                self.roots.insert(folder, root.clone());
                root
            }
        };
        let before = self.entry(file).map(|entry| entry.root.clone());
        if before.as_ref() != Some(&root) {
            if let Some(repository) = before.and_then(|before| self.repositories.get_mut(&before)) {
                repository.remove(file);
            }
            if !self.repositories.contains_key(&root) {
                self.repositories.insert(root.clone(), Repository::new(root.clone()));
                self.read_settings(&root);
            }
        }
        if let Some(entry) = self.entry_mut(file) {
            entry.root = root;
        }
    }

    /// The innermost of the editor's folders around `folder`, or else `folder` itself.
    fn folder_of(&self, folder: &Path) -> PathBuf {
        let around = self.folders.iter().filter(|root| folder.starts_with(root));
        let innermost = around.max_by_key(|root| root.components().count());
        innermost.cloned().unwrap_or_else(|| folder.to_owned())
    }

    /// Reads a repository's settings again. Open settings count before those of the disk.
    fn read_settings(&mut self, root: &Path) {
        let path = root.join(SETTINGS);
        let open = self
            .known(&path)
            .and_then(|file| self.entry(file)?.open.as_ref().map(|open| Arc::clone(&open.text)));
        let read = match open {
            Some(text) => Some(OnDisk { text, problem: None }),
            None => self.disk.read(&path).ok().flatten(),
        };
        let (settings, findings) = match read {
            None => (Settings::default(), Vec::new()),
            Some(read) => {
                let (settings, problems) = Settings::read(&read.text);
                let file = self.file_alone(&path);
                let findings = problems
                    .into_iter()
                    .filter_map(|problem| of_problem(&problem, file, &settings))
                    .collect();
                (settings, findings)
            }
        };
        let file = self.known(&path);
        if let Some(repository) = self.repositories.get_mut(root) {
            repository.settings = Arc::new(settings);
            repository.settings_findings = findings;
            repository.stale = true;
        }
        if let Some(entry) = file.and_then(|file| self.entry_mut(file)) {
            entry.revision += 1;
            root.clone_into(&mut entry.root);
        }
    }

    /// The number of a file that is no office, such as the settings.
    fn file_alone(&mut self, path: &Path) -> FileId {
        if let Some(file) = self.by_path.get(path) {
            return *file;
        }
        self.enter(path, path.parent().unwrap_or(Path::new("")).to_owned())
    }

    fn is_settings(&self, file: FileId) -> bool {
        self.entry(file)
            .is_some_and(|entry| entry.path.file_name().is_some_and(|name| name == SETTINGS))
    }

    /// Puts a file among those that wait to be looked at.
    fn wait(&mut self, file: FileId) {
        if self.is_settings(file) {
            return;
        }
        let Some(entry) = self.entry_mut(file) else { return };
        let open = entry.open.is_some();
        if std::mem::replace(&mut entry.waits, true) && !open {
            return;
        }
        if open {
            if !self.urgent.contains(&file) {
                self.urgent.push_back(file);
            }
        } else {
            self.later.push_back(file);
        }
    }

    /// An editor has opened a file, or given its text anew.
    pub fn open(&mut self, path: &Path, version: i32, text: &str) -> FileId {
        let file = self.file(path);
        if let Some(entry) = self.entry_mut(file) {
            entry.open = Some(Open {
                version,
                text: text.into(),
            });
        }
        self.changed(file);
        file
    }

    /// An editor has changed a file that it has open. The changes follow one another. None if it has not been opened.
    pub fn change(
        &mut self,
        path: &Path,
        version: i32,
        changes: impl IntoIterator<Item = Change>,
        encoding: drysheath_text::Encoding,
    ) -> Option<FileId> {
        let file = self.known(path)?;
        let open = self.entry_mut(file)?.open.as_mut()?;
        let mut text: String = open.text.to_string();
        for change in changes {
            match change {
                Change::Whole(whole) => text = whole,
                Change::Part { start, end, text: new } => {
                    let lines = LineIndex::new(&text);
                    let start = lines.offset(&text, start, encoding);
                    let end = lines.offset(&text, end, encoding).max(start);
                    let edit = Edit {
                        range: TextRange::new(start, end),
                        replacement: new,
                    };
                    if let Some(edited) = drysheath_text::apply(&text, &[edit]) {
                        text = edited;
                    }
                }
            }
        }
        open.version = version;
        open.text = text.into();
        self.changed(file);
        Some(file)
    }

    /// An editor has closed a file: the disk's text holds again.
    pub fn close(&mut self, path: &Path) -> Option<FileId> {
        let file = self.known(path)?;
        self.entry_mut(file)?.open = None;
        self.urgent.retain(|other| *other != file);
        if let Some(entry) = self.entry_mut(file) {
            entry.waits = false;
        }
        self.changed(file);
        Some(file)
    }

    /// A file has changed on the disk, come or gone. What an editor has open stays as it is there.
    pub fn changed_on_disk(&mut self, path: &Path) {
        if path.file_name().is_some_and(|name| name == SETTINGS) {
            self.settings_changed(path);
            return;
        }
        if path.extension().is_none_or(|extension| extension != EXTENSION) {
            return;
        }
        let file = self.file(path);
        if !self.is_open(file) {
            self.changed(file);
        }
    }

    /// Settings came, went or changed: everything around them may belong elsewhere and is looked at again.
    fn settings_changed(&mut self, path: &Path) {
        let Some(folder) = path.parent().map(Path::to_owned) else {
            return;
        };
        self.file_alone(path);
        self.roots.clear();
        self.parts.borrow_mut().clear();
        if self.repositories.contains_key(&folder) {
            self.read_settings(&folder);
        }
        for number in 0..self.entries.len() {
            let file = FileId(number as u32);
            if !self.is_settings(file) && self.path(file).is_some_and(|path| path.starts_with(&folder)) {
                self.place(file);
                self.forget(file);
                self.wait(file);
            }
        }
    }

    /// All offices and files of parts below a folder that the editor works in. They are looked at when nothing else waits.
    pub fn found(&mut self, folder: &Path, paths: impl IntoIterator<Item = PathBuf>) {
        for path in paths {
            let file = self.file(&path);
            let unknown = self
                .entry(file)
                .is_some_and(|entry| (entry.revision == 0 || entry.gone) && !entry.waits);
            if unknown {
                self.wait(file);
            }
        }
        for repository in self.repositories.values_mut() {
            if repository.root.starts_with(folder) {
                repository.whole = true;
                repository.stale = true;
            }
        }
    }

    /// A text has changed: it waits to be looked at, and so do those that use it.
    fn changed(&mut self, file: FileId) {
        if self.is_settings(file) {
            if let Some(path) = self.path(file) {
                self.settings_changed(&path);
            }
            return;
        }
        self.forget(file);
        self.wait(file);
        let Some(path) = self.path(file) else { return };
        if self.parts.borrow_mut().remove(&*path).is_none() && !self.users.contains_key(&*path) {
            return;
        }
        let mut open: Vec<PathBuf> = vec![path.to_path_buf()];
        let mut seen: FxHashSet<PathBuf> = FxHashSet::default();
        while let Some(path) = open.pop() {
            if !seen.insert(path.clone()) {
                continue;
            }
            let mut users: Vec<FileId> = self.users.get(&path).into_iter().flatten().copied().collect();
            users.sort_unstable();
            for user in users {
                if user != file {
                    self.forget(user);
                    self.wait(user);
                }
                open.extend(self.path(user).map(|path| path.to_path_buf()));
            }
        }
    }

    fn forget(&mut self, file: FileId) {
        self.kept.retain(|analysis| analysis.file != file);
    }

    /// A file's text: the editor's, or else the disk's.
    fn text_of(&self, file: FileId) -> Result<Option<(Option<i32>, OnDisk)>, String> {
        let Some(entry) = self.entry(file) else { return Ok(None) };
        if let Some(open) = &entry.open {
            let text = OnDisk {
                text: Arc::clone(&open.text),
                problem: None,
            };
            return Ok(Some((Some(open.version), text)));
        }
        Ok(self.disk.read(&entry.path)?.map(|text| (None, text)))
    }

    /// What is behind the path of a file of parts.
    fn lookup(&self, path: &Path, root: &Path) -> Lookup {
        if let Some(known) = self.parts.borrow().get(path) {
            return known.clone();
        }
        let Some(file) = self.known(path) else {
            // Its number is given before the next look; until then it has none to be placed with.
            self.wanted.borrow_mut().push(path.to_owned());
            return Lookup::Missing;
        };
        let found = if self.disk.is_outside(path, root) {
            Lookup::Outside
        } else {
            match self.text_of(file) {
                Err(why) => Lookup::Unreadable(why),
                Ok(None) => Lookup::Missing,
                Ok(Some((_, text))) => {
                    let name = name_of(path, root);
                    let mut parts = PartsFile::read(file, &name, text.text);
                    parts.unsure |= text.problem.is_some();
                    Lookup::Found(Arc::new(parts))
                }
            }
        };
        self.parts.borrow_mut().insert(path.to_owned(), found.clone());
        found
    }

    /// The analysis of a file as it stands now. None if there is no such text.
    pub fn analysis(&mut self, file: FileId) -> Option<Arc<Analysis>> {
        if let Some(at) = self.kept.iter().position(|analysis| analysis.file == file) {
            let analysis = self.kept.remove(at)?;
            self.kept.push_front(Arc::clone(&analysis));
            return Some(analysis);
        }
        let (version, text) = self.text_of(file).ok().flatten()?;
        let analysis = Arc::new(self.analyse(file, version, &text.text)?);
        self.kept.push_front(Arc::clone(&analysis));
        self.kept.truncate(KEPT);
        Some(analysis)
    }

    /// As [`World::analysis`], for whoever looks at many files that nobody shows: what is kept stays as it is.
    pub(crate) fn glance(&mut self, file: FileId) -> Option<Arc<Analysis>> {
        if let Some(analysis) = self.kept.iter().find(|analysis| analysis.file == file) {
            return Some(Arc::clone(analysis));
        }
        let (version, text) = self.text_of(file).ok().flatten()?;
        self.analyse(file, version, &text.text).map(Arc::new)
    }

    /// Whether a file's text holds some words anywhere.
    pub(crate) fn holds(&self, file: FileId, words: &str) -> bool {
        let open = self.entry(file).and_then(|entry| entry.open.as_ref());
        match open {
            Some(open) => open.text.contains(words),
            None => {
                let read = self.text_of(file).ok().flatten();
                read.is_some_and(|(_, read)| read.text.contains(words))
            }
        }
    }

    /// What would become of files if all of them had other texts. None for one that is not known.
    pub(crate) fn imagine(&mut self, texts: &[(FileId, Arc<str>)]) -> Vec<Option<Analysis>> {
        let parts = self.parts.borrow().clone();
        for (file, text) in texts {
            let Some(entry) = self.entry(*file) else { continue };
            if parts.contains_key(&*entry.path) || self.users.contains_key(&*entry.path) {
                let read = PartsFile::read(*file, &name_of(&entry.path, &entry.root), Arc::clone(text));
                let found = Lookup::Found(Arc::new(read));
                self.parts.borrow_mut().insert(entry.path.to_path_buf(), found);
            }
        }
        let analyses = texts.iter().map(|(file, text)| self.analyse(*file, None, text));
        let analyses = analyses.collect();
        self.parts = RefCell::new(parts);
        analyses
    }

    /// The part that a file knows by `name`.
    pub(crate) fn part(&self, analysis: &Analysis, name: &str) -> Option<Arc<Part>> {
        let root = &self.entry(analysis.file)?.root;
        let library = Parts {
            root,
            find: &|path| self.lookup(path, root),
            disk: &*self.disk,
        };
        analysis.office.part_called(name, &analysis.name, &library)
    }

    /// The file of parts that a file means by a path, if it is there.
    pub(crate) fn used(&self, file: FileId, path: &str) -> Option<FileId> {
        let root = &self.entry(file)?.root;
        let used = self.known(&root.join(path).with_extension(EXTENSION))?;
        self.text_of(used).ok().flatten()?;
        Some(used)
    }

    /// A file of parts and all that use it, directly or through other files of parts.
    pub(crate) fn family(&self, file: FileId) -> Vec<FileId> {
        let mut family = vec![file];
        let mut seen: FxHashSet<FileId> = family.iter().copied().collect();
        let mut at = 0;
        while let Some(file) = family.get(at) {
            let users = self.users_of(*file).into_iter();
            family.extend(users.filter(|user| seen.insert(*user)));
            at += 1;
        }
        family
    }

    fn analyse(&mut self, file: FileId, version: Option<i32>, text: &Arc<str>) -> Option<Analysis> {
        // A file of parts that has no number yet gets one, and the look is repeated: once for each step of a chain of uses.
        const MOST_STEPS: u32 = 64;
        for _ in 0..MOST_STEPS {
            let entry = self.entry(file)?;
            let root = entry.root.clone();
            let settings = self
                .repositories
                .get(&root)
                .map(|repository| Arc::clone(&repository.settings))
                .unwrap_or_default();
            let path = Arc::clone(&entry.path);
            let analysis = Analysis::new(Given {
                file,
                name: name_of(&path, &root),
                path,
                version,
                text: Arc::clone(text),
                library: &Parts {
                    root: &root,
                    find: &|path| self.lookup(path, &root),
                    disk: &*self.disk,
                },
                settings,
                today: self.today,
            });
            let wanted = self.wanted.take();
            if wanted.is_empty() {
                return Some(analysis);
            }
            for path in wanted {
                self.file(&path);
            }
        }
        None
    }

    /// PairIdentity at the next file that waits. The files whose results have changed by it; none when nothing waits.
    pub fn work(&mut self) -> Option<Vec<FileId>> {
        if let Some(file) = self.urgent.pop_front() {
            return Some(self.look(file));
        }
        let stale = self
            .repositories
            .iter()
            .find(|(_, repository)| repository.stale)
            .map(|(root, _)| root.clone());
        // The rules that look at all files wait until all files have been looked at.
        if let (Some(root), true) = (&stale, self.later.is_empty()) {
            return Some(self.look_wide(root));
        }
        if let Some(file) = self.later.pop_front() {
            return Some(self.look(file));
        }
        None
    }

    /// Whether something waits to be looked at.
    pub fn is_waiting(&self) -> bool {
        !self.urgent.is_empty() || !self.later.is_empty() || self.repositories.values().any(|it| it.stale)
    }

    /// Whether a file waits to be looked at.
    pub fn waits(&self, file: FileId) -> bool {
        self.entry(file).is_some_and(|entry| entry.waits)
    }

    /// How many closed files wait to be looked at.
    pub fn backlog(&self) -> usize {
        self.later.len()
    }

    fn look(&mut self, file: FileId) -> Vec<FileId> {
        let Some(entry) = self.entry_mut(file) else {
            return Vec::new();
        };
        if !std::mem::replace(&mut entry.waits, false) {
            return Vec::new();
        }
        let read = self.text_of(file);
        let (findings, summary, uses, roll, version) = match read {
            Ok(Some((version, OnDisk { text, problem: None }))) => {
                let analysis = match self.kept.iter().find(|analysis| analysis.file == file) {
                    Some(analysis) => Arc::clone(analysis),
                    None => {
                        let Some(analysis) = self.analyse(file, version, &text) else {
                            return Vec::new();
                        };
                        let analysis = Arc::new(analysis);
                        if version.is_some() {
                            self.kept.push_front(Arc::clone(&analysis));
                            self.kept.truncate(KEPT);
                        }
                        analysis
                    }
                };
                let root = self.entry(file).map(|entry| entry.root.clone()).unwrap_or_default();
                let uses = analysis.office.uses.iter();
                let uses: Vec<PathBuf> = uses
                    .map(|used| root.join(&*used.value).with_extension(EXTENSION))
                    .collect();
                let summary = Summary::of(&analysis.office, is_wide);
                let roll = Roll::of(&analysis.office);
                (analysis.findings.clone(), Some(summary), uses, roll, version)
            }
            Ok(Some((
                version,
                OnDisk {
                    problem: Some(problem), ..
                },
            ))) => {
                let settings = self.settings_of(file);
                let finding = of_problem(&problem, file, &settings);
                let unsure = Summary {
                    file,
                    unsure: true,
                    ..Summary::default()
                };
                let findings = finding.into_iter().collect();
                (findings, Some(unsure), Vec::new(), Roll::default(), version)
            }
            Ok(None) | Err(_) => (Vec::new(), None, Vec::new(), Roll::default(), None),
        };
        if let Some(entry) = self.entry_mut(file) {
            entry.roll = roll;
        }
        self.take_in(file, findings, summary, uses, version)
    }

    fn take_in(
        &mut self,
        file: FileId,
        findings: Vec<Finding>,
        summary: Option<Summary>,
        uses: Vec<PathBuf>,
        version: Option<i32>,
    ) -> Vec<FileId> {
        let Some(entry) = self.entry_mut(file) else {
            return Vec::new();
        };
        let changed = entry.findings != findings || entry.seen != version || entry.revision == 0;
        entry.gone = summary.is_none();
        entry.seen = version;
        entry.findings = findings;
        if changed {
            entry.revision += 1;
        }
        let before = std::mem::replace(&mut entry.uses, uses.clone());
        let root = entry.root.clone();
        if before != uses {
            for path in before {
                if let Some(users) = self.users.get_mut(&path) {
                    users.remove(&file);
                }
            }
            for path in uses {
                self.users.entry(path).or_default().insert(file);
            }
        }
        let paths: &Vec<Entry> = &self.entries;
        if let Some(repository) = self.repositories.get_mut(&root) {
            match summary {
                Some(summary) => repository.put(summary, |file| {
                    let entry = paths.get(file.0 as usize);
                    entry.map_or_else(|| Path::new("").into(), |entry| Arc::clone(&entry.path))
                }),
                None => repository.remove(file),
            }
        }
        if changed { vec![file] } else { Vec::new() }
    }

    fn settings_of(&self, file: FileId) -> Arc<Settings> {
        let repository = self.entry(file).and_then(|entry| self.repositories.get(&entry.root));
        repository
            .map(|repository| Arc::clone(&repository.settings))
            .unwrap_or_default()
    }

    /// Asks the rules that look at all files of a repository. The files whose results have changed by it.
    fn look_wide(&mut self, root: &Path) -> Vec<FileId> {
        let Some(repository) = self.repositories.get_mut(root) else {
            return Vec::new();
        };
        repository.stale = false;
        let all = drysheath_rules::Repository {
            summaries: &repository.summaries,
            settings: &repository.settings,
            whole: repository.whole,
        };
        let mut wide: FxHashMap<FileId, Vec<Finding>> = FxHashMap::default();
        for finding in lint_repository(&all, self.today) {
            wide.entry(finding.place.file).or_default().push(finding);
        }
        let before = std::mem::replace(&mut repository.wide, wide);
        let now = &repository.wide;
        let mut changed: Vec<FileId> = before.keys().chain(now.keys()).copied().collect();
        changed.sort_unstable();
        changed.dedup();
        changed.retain(|file| before.get(file) != now.get(file));
        for file in &changed {
            if let Some(entry) = self.entries.get_mut(file.0 as usize) {
                entry.revision += 1;
            }
        }
        let settings = self.known(&root.join(SETTINGS));
        changed.extend(settings.filter(|file| !changed.contains(file)));
        changed
    }

    /// The results of a file, in the order in which the command gives them.
    pub fn findings(&self, file: FileId) -> Vec<Finding> {
        let Some(entry) = self.entry(file) else {
            return Vec::new();
        };
        let mut findings = entry.findings.clone();
        if let Some(repository) = self.repositories.get(&entry.root) {
            findings.extend(repository.wide.get(&file).into_iter().flatten().cloned());
            if self.is_settings(file) {
                findings.extend(repository.settings_findings.iter().cloned());
            }
        }
        findings.sort_by(|one, other| {
            (one.place, one.rule.name(), &one.message).cmp(&(other.place, other.rule.name(), &other.message))
        });
        findings
    }

    /// A file's text and where its lines start, for places in it.
    pub fn text(&self, file: FileId) -> Option<(Arc<str>, LineIndex)> {
        if let Some(analysis) = self.kept.iter().find(|analysis| analysis.file == file) {
            return Some((Arc::clone(&analysis.text), analysis.lines.clone()));
        }
        let (_, text) = self.text_of(file).ok().flatten()?;
        let text = text.text;
        let lines = LineIndex::new(&text);
        Some((text, lines))
    }

    /// The day that acceptances are judged by.
    pub fn today(&self) -> Date {
        self.today
    }

    /// What a file would come to if it had another text.
    pub fn trial(&mut self, file: FileId, text: &str) -> Option<Analysis> {
        let version = self.version(file);
        self.analyse(file, version, &text.into())
    }

    /// The parts that a file has within reach: its own, and those of the files that it uses and that those use in turn.
    pub fn parts_within_reach(&self, analysis: &Analysis) -> Vec<Arc<Part>> {
        let mut parts = analysis.office.parts.clone();
        let Some(root) = self.entry(analysis.file).map(|entry| &entry.root) else {
            return parts;
        };
        let uses = analysis.office.uses.iter().rev();
        let mut open: Vec<Box<str>> = uses.map(|used| used.value.clone()).collect();
        let mut seen: FxHashSet<Box<str>> = FxHashSet::from_iter([analysis.name.clone()]);
        while let Some(path) = open.pop() {
            if !seen.insert(path.clone()) {
                continue;
            }
            if let Lookup::Found(file) = self.lookup(&root.join(&*path).with_extension(EXTENSION), root) {
                let mut found: Vec<Arc<Part>> = file.parts.values().cloned().collect();
                found.sort_by(|one, other| one.name.cmp(&other.name));
                parts.extend(found);
                open.extend(file.uses.iter().cloned());
            }
        }
        parts
    }

    /// The files of parts in the repository of a file, as a `use` would name them.
    pub fn files_of_parts(&self, file: FileId) -> Vec<String> {
        let Some(root) = self.entry(file).map(|entry| &entry.root) else {
            return Vec::new();
        };
        let with_parts = self.summaries(file).iter().filter(|summary| !summary.parts.is_empty());
        with_parts
            .filter_map(|summary| Some(name_of(&self.entry(summary.file)?.path, root)))
            .collect()
    }

    /// The files that name a file of parts, directly.
    pub fn users_of(&self, file: FileId) -> Vec<FileId> {
        let users = self.path(file).and_then(|path| self.users.get(&*path));
        let mut users: Vec<FileId> = users.into_iter().flatten().copied().collect();
        users.sort_unstable();
        users
    }

    /// Sees to it that the names of open files are those of their texts as they stand now.
    pub(crate) fn call_the_roll(&mut self) {
        for file in self.urgent.clone() {
            let roll = self.analysis(file).map(|analysis| Roll::of(&analysis.office));
            if let (Some(entry), Some(roll)) = (self.entry_mut(file), roll) {
                entry.roll = roll;
            }
        }
    }

    /// The names that each file declares.
    pub(crate) fn rolls(&self) -> impl Iterator<Item = (FileId, &Roll)> {
        (0..).map(FileId).zip(self.entries.iter().map(|entry| &entry.roll))
    }

    /// A file's path from its root, without extension, as a `use` would name it.
    pub fn name(&self, file: FileId) -> String {
        self.entry(file)
            .map_or_else(String::new, |entry| name_of(&entry.path, &entry.root))
    }

    /// What must be known of each file of the repository of a file.
    pub fn summaries(&self, file: FileId) -> &[Arc<Summary>] {
        let repository = self.entry(file).and_then(|entry| self.repositories.get(&entry.root));
        repository.map_or(&[], |repository| &repository.summaries)
    }

    /// The root of the repository of a file.
    pub fn root(&self, file: FileId) -> Option<&Path> {
        self.entry(file).map(|entry| &*entry.root)
    }
}

/// A file's path from the root, without extension, as a `use` would name it.
fn name_of(path: &Path, root: &Path) -> String {
    let inner = path.strip_prefix(root).unwrap_or(path).with_extension("");
    let parts: Vec<_> = inner
        .components()
        .map(|part| part.as_os_str().to_string_lossy())
        .collect();
    parts.join("/")
}
