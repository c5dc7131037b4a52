use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_office::{Date, EXTENSION, SETTINGS};
use drysheath_rules::Finding;
use drysheath_text::{Encoding, FileId};
use rpds::{HashTrieMapSync, HashTrieSetSync};
use rustc_hash::FxHashSet;

use crate::across::CrossFileResults;
use crate::cancellation::Cancellation;
use crate::edit::{Change, changed};
use crate::results::FileResults;
use crate::snapshot::{FileState, Snapshot};
use crate::source::{Content, FileSource};
use crate::version::FileVersion;

/// The mutable state. It takes changes and returns what they invalidate; its user decides on the order of
/// recomputation.
pub struct Workspace {
    now: Snapshot,
}

/// What a change invalidates.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Invalidated {
    /// Files whose results have to be recomputed by [`Snapshot::lint`]; changed files come first.
    pub files: Vec<FileId>,
    /// Roots of repositories whose results across files have to be recomputed by [`Snapshot::lint_repository`].
    pub repositories: Vec<Arc<Path>>,
    /// Files whose results have already changed and can be shown.
    pub changed: Vec<FileId>,
}

impl Invalidated {
    fn repository(&mut self, root: &Arc<Path>) {
        if !self.repositories.contains(root) {
            self.repositories.push(Arc::clone(root));
        }
    }
}

impl Workspace {
    /// Creates a workspace without known files.
    pub fn new(source: Arc<dyn FileSource>, today: Date) -> Self {
        Self {
            now: Snapshot {
                source,
                today,
                table: Arc::default(),
                repositories: Arc::default(),
                whole: Arc::new([]),
                files: HashTrieMapSync::default(),
                users: HashTrieMapSync::default(),
                declare_parts: HashTrieSetSync::default(),
                across: HashTrieMapSync::default(),
                cache: Arc::default(),
                recent: Arc::default(),
                cancellation: Cancellation::default(),
            },
        }
    }

    /// A workspace for another state of the same files, provided by `source`. No id is shared by both, unless
    /// [`Workspace::adopt`] is called for it.
    #[must_use]
    pub fn beside(&self, source: Arc<dyn FileSource>) -> Self {
        let mut other = Self::new(source, self.now.today);
        other.now.table = Arc::new(self.now.table.beside());
        other
    }

    /// Declares that a file of the other state has the same path and text here: it has the same id, and what it
    /// provides to others is read once.
    pub fn adopt(&mut self, file: FileId) {
        self.now.table.adopt(file);
    }

    /// An immutable snapshot of the present state.
    pub fn snapshot(&self) -> Snapshot {
        self.now.clone()
    }

    /// The present state, for use before the next change.
    pub fn now(&self) -> &Snapshot {
        &self.now
    }

    /// Drops outdated data, to be called when nobody is waiting.
    pub fn sweep(&self) {
        self.now.cache.sweep();
    }

    /// Sets the folders that an editor works in. A file without settings above it belongs to the innermost of them.
    /// Closed files outside of all folders lose their results.
    pub fn set_folders(&mut self, folders: Vec<PathBuf>) -> Invalidated {
        let before = self.now.folders().to_vec();
        let is_in = |path: &Path, folders: &[PathBuf]| folders.iter().any(|folder| path.starts_with(folder));
        let mut invalidated = Invalidated::default();
        let whole = self.now.whole.iter().cloned();
        let (whole, unseen): (Vec<_>, Vec<_>) = whole.partition(|(whole, _)| folders.contains(whole));
        self.now.whole = whole.into();
        // A repository that is no longer fully covered by folders is less completely known.
        for repository in self.now.repositories() {
            if unseen.iter().any(|(unseen, _)| repository.root.starts_with(unseen)) {
                invalidated.repository(&repository.root);
            }
        }
        self.now.repositories = Arc::new(self.now.repositories.in_folders(folders));
        let now = self.now.folders();
        let came = now.iter().filter(|folder| !before.contains(folder));
        let went = before.iter().filter(|folder| !now.contains(folder));
        let other: Vec<PathBuf> = came.chain(went).cloned().collect();
        for (file, path) in self.known_files() {
            // A file in none of the added or removed folders is unaffected.
            if !is_in(&path, &other) {
                continue;
            }
            let is_outside = !self.now.is_open(file) && !is_in(&path, self.now.folders());
            if is_outside && is_in(&path, &before) {
                self.leave(file, &mut invalidated);
            } else if !is_outside || self.now.has_results(file) {
                self.moved(file, &mut invalidated);
            }
        }
        invalidated
    }

    /// The files that were opened, found or changed, except settings, sorted by id.
    fn known_files(&self) -> Vec<(FileId, Arc<Path>)> {
        let files = self.now.files.keys().filter(|file| !self.now.is_settings(**file));
        let mut files: Vec<_> = files.filter_map(|file| Some((*file, self.now.path(*file)?))).collect();
        files.sort_unstable();
        files
    }

    /// Drops the results of a file that is no longer in any folder.
    fn leave(&mut self, file: FileId, invalidated: &mut Invalidated) {
        let mut state = self.now.state(file);
        let results = state.results.take();
        self.set_users(file, results.as_deref(), None);
        self.set_declares_parts(file, None);
        if let Some(results) = results {
            invalidated.repository(&results.repository.root);
            state.revision += 1;
            self.now.files.insert_mut(file, state);
        }
        invalidated.changed.push(file);
    }

    /// Handles a possible change of a file's repository.
    fn moved(&mut self, file: FileId, invalidated: &mut Invalidated) {
        if self.now.is_fresh(file) {
            return;
        }
        let results = self.now.files.get(&file).and_then(|state| state.results.as_ref());
        if let Some(results) = results {
            invalidated.repository(&results.repository.root);
        }
        invalidated.files.push(file);
    }

    /// Handles a file that an editor opens, or whose text it replaces.
    pub fn set_buffer(&mut self, path: &Path, version: Option<i32>, content: Content) -> (FileId, Invalidated) {
        let file = self.now.file(path);
        let invalidated = self.set_version(file, FileVersion::open(version, content));
        (file, invalidated)
    }

    /// Handles edits of an open file, applied in order. `None` if the file is not open.
    pub fn edit(
        &mut self,
        path: &Path,
        version: i32,
        changes: impl IntoIterator<Item = Change>,
        encoding: Encoding,
    ) -> Option<(FileId, Invalidated)> {
        let file = self.now.known(path)?;
        let before = &self.now.files.get(&file)?.version;
        let open = before.buffer.as_ref()?;
        let lines = self.now.cache.get(file, before).map(|analysis| analysis.lines.clone());
        let content = Content {
            text: changed(&open.content.text, lines, changes, encoding),
            problem: None,
        };
        Some((file, self.set_version(file, FileVersion::open(Some(version), content))))
    }

    /// Handles a closed file: the source's text applies again. A file that is in no folder loses its results. `None` if
    /// the file is not open.
    pub fn close(&mut self, path: &Path) -> Option<(FileId, Invalidated)> {
        let file = self.now.known(path).filter(|file| self.now.is_open(*file))?;
        let mut invalidated = self.set_version(file, Arc::default());
        if !self.is_in_a_folder(path) {
            invalidated.files.retain(|other| *other != file);
            self.leave(file, &mut invalidated);
        }
        Some((file, invalidated))
    }

    /// Handles a file changed, added or removed in the source. An open file keeps the editor's text.
    pub fn changed_on_disk(&mut self, path: &Path) -> Invalidated {
        let is_ours = path.extension().is_some_and(|extension| extension == EXTENSION);
        let is_settings = path.file_name().is_some_and(|name| name == SETTINGS);
        if !is_ours && !is_settings {
            return Invalidated::default();
        }
        let file = self.now.file(path);
        if is_ours && self.now.is_open(file) {
            return Invalidated::default();
        }
        let state = self.now.files.get(&file);
        let version = match state.filter(|state| state.version.buffer.is_some()) {
            // The root of a repository may have appeared or disappeared, even though the text is the editor's.
            Some(state) => Arc::clone(&state.version),
            None => Arc::default(),
        };
        let mut invalidated = self.set_version(file, version);
        // A file in no folder has no results of its own, although others may use it.
        if !self.is_of_interest(file, path) {
            invalidated.files.retain(|other| *other != file);
        }
        invalidated
    }

    /// Handles the complete list of offices and files of parts below some folders. Other files known there may be gone.
    pub fn found(&mut self, folders: &[PathBuf], paths: impl IntoIterator<Item = PathBuf>) -> Invalidated {
        let is_below = |path: &Path| folders.iter().any(|folder| path.starts_with(folder));
        let mut invalidated = Invalidated::default();
        let mut found: FxHashSet<FileId> = FxHashSet::default();
        for path in paths {
            let file = self.now.file(&path);
            found.insert(file);
            let state = self.now.state(file);
            let results = state.results.as_ref();
            if results.is_none_or(|results| results.summary.is_none()) {
                self.now.files.insert_mut(file, state);
                invalidated.files.push(file);
            }
        }
        for (file, path) in self.known_files() {
            if !found.contains(&file) && self.may_have_gone(file) && is_below(&path) {
                let gone = self.set_version(file, Arc::default());
                invalidated.files.extend(gone.files);
            }
        }
        let before = self.now.whole.iter().filter(|(whole, _)| !folders.contains(whole));
        let now = folders
            .iter()
            .map(|folder| (folder.clone(), self.now.source.real_path(folder)));
        self.now.whole = before.cloned().chain(now).collect();
        for repository in self.now.repositories() {
            if is_below(&repository.root) {
                invalidated.repository(&repository.root);
            }
        }
        invalidated
    }

    fn may_have_gone(&self, file: FileId) -> bool {
        let results = self.now.files.get(&file).and_then(|state| state.results.as_ref());
        !self.now.is_open(file) && results.is_some_and(|results| results.summary.is_some())
    }

    fn set_version(&mut self, file: FileId, version: Arc<FileVersion>) -> Invalidated {
        let state = self.now.state(file);
        self.now.cache.forget(file, &version);
        self.now.files.insert_mut(file, FileState { version, ..state });
        if self.now.is_settings(file) {
            return self.settings_changed(file);
        }
        Invalidated {
            files: self.now.with_users(file),
            ..Invalidated::default()
        }
    }

    /// Handles added, removed or changed settings: files around them may belong to another repository.
    fn settings_changed(&mut self, file: FileId) -> Invalidated {
        let mut invalidated = Invalidated::default();
        let Some(path) = self.now.path(file) else {
            return invalidated;
        };
        let folder = path.parent().unwrap_or(Path::new(""));
        let before = self.now.repositories();
        self.now.repositories = Arc::new(self.now.repositories.with_settings_changed(folder));
        self.touch(file);
        invalidated.changed.push(file);
        invalidated.repository(&folder.into());
        invalidated.repository(&self.now.repository_in(folder).root);
        // Settings further down depend on these.
        let below = before.iter().filter(|other| other.folder.starts_with(folder));
        for other in below
            .filter_map(|other| other.settings_file)
            .filter(|other| *other != file)
        {
            self.touch(other);
            invalidated.changed.push(other);
        }
        for (file, path) in self.known_files() {
            if path.starts_with(folder) && self.is_of_interest(file, &path) {
                self.moved(file, &mut invalidated);
            }
        }
        invalidated
    }

    /// Whether results of a file are wanted: it is open, in a folder, or has results already. Other files are read only
    /// for those that use them.
    fn is_of_interest(&self, file: FileId, path: &Path) -> bool {
        self.now.is_open(file) || self.now.has_results(file) || self.is_in_a_folder(path)
    }

    fn is_in_a_folder(&self, path: &Path) -> bool {
        self.now.folders().iter().any(|folder| path.starts_with(folder))
    }

    /// Records that the results of a file have changed.
    fn touch(&mut self, file: FileId) {
        let mut state = self.now.state(file);
        state.revision += 1;
        self.now.files.insert_mut(file, state);
    }

    /// Stores results of a file computed by a snapshot. If the inputs have changed since, they have to be recomputed.
    pub fn put(&mut self, results: FileResults) -> Invalidated {
        let file = results.file;
        let mut invalidated = Invalidated::default();
        if !self.now.holds(&results.repository, &results.made_from) {
            invalidated.files.push(file);
            return invalidated;
        }
        let state = self.now.state(file);
        let before = state.results.as_deref();
        let has_new_text = before.is_some_and(|before| before.text != results.text);
        let is_same = |before: &FileResults| {
            let has_same_places = !has_new_text || results.findings.is_empty();
            before.findings == results.findings && before.version == results.version && has_same_places
        };
        let is_changed = !before.is_some_and(is_same);
        if self.concerns_others(before, &results) {
            if let Some(before) = before {
                invalidated.repository(&before.repository.root);
            }
            invalidated.repository(&results.repository.root);
        }
        self.set_users(file, before, Some(&results));
        self.set_declares_parts(file, Some(&results));
        if is_changed {
            invalidated.changed.push(file);
        }
        self.now.files.insert_mut(
            file,
            FileState {
                revision: state.revision + u64::from(is_changed),
                results: Some(Arc::new(results)),
                version: state.version,
            },
        );
        if has_new_text {
            self.places_moved(file, &mut invalidated);
        }
        invalidated
    }

    /// Whether new results of a file require recomputing those across files: if its summary changed, or if results
    /// across files point into it and places moved. Most keystrokes do neither, and in a large repository those results
    /// take longer than those of a file.
    fn concerns_others(&self, before: Option<&FileResults>, now: &FileResults) -> bool {
        let Some(before) = before else { return true };
        if before.repository.root != now.repository.root {
            return true;
        }
        let (was, is) = match (&before.summary, &now.summary) {
            (Some(was), Some(is)) => (was, is),
            (None, None) => return false,
            _ => return true,
        };
        let mut across = self.across_pointing_into(now.file, &now.repository.root);
        was != is && (across.next().is_some() || was.without_places() != is.without_places())
    }

    /// The results across the files of the repository at `root` that are on a file or also point into it.
    fn across_pointing_into(&self, file: FileId, root: &Path) -> impl Iterator<Item = &Finding> {
        let across = self.now.across.get(root);
        let findings = across.into_iter().flat_map(|across| across.values().flatten());
        findings.filter(move |finding| points_into(finding, file))
    }

    /// Handles a changed text: results of other files that also point into it have to be shown again, and so do its own
    /// results across files.
    fn places_moved(&mut self, file: FileId, invalidated: &mut Invalidated) {
        let state = |user: &FileId| self.now.files.get(user)?.results.as_ref();
        let users = self.now.with_users(file).into_iter();
        let users = users.filter(|user| *user != file);
        let points_there = |finding: &Finding| points_into(finding, file);
        let mut moved: Vec<FileId> = users
            .filter(|user| state(user).is_some_and(|results| results.findings.iter().any(points_there)))
            .collect();
        let repository = self.now.repository(file);
        let across = self.across_pointing_into(file, &repository.root);
        moved.extend(across.map(|finding| finding.place.file));
        moved.sort_unstable();
        moved.dedup();
        for file in moved {
            self.touch(file);
            invalidated.changed.push(file);
        }
    }

    fn set_users(&mut self, file: FileId, before: Option<&FileResults>, now: Option<&FileResults>) {
        let uses = |results: Option<&FileResults>| results.map(FileResults::depends_on).unwrap_or_default();
        let (before, now) = (uses(before), uses(now));
        if before == now {
            return;
        }
        let all = &mut self.now.users;
        for used in before {
            if let Some(users) = all.get_mut(&used) {
                users.remove_mut(&file);
            }
        }
        for used in now {
            if !all.contains_key(&used) {
                all.insert_mut(used, HashTrieSetSync::new_sync());
            }
            if let Some(users) = all.get_mut(&used) {
                users.insert_mut(file);
            }
        }
    }

    fn set_declares_parts(&mut self, file: FileId, results: Option<&FileResults>) {
        let declares = results.is_some_and(|results| {
            let summary = results.summary.as_deref();
            summary.is_some_and(|summary| !summary.parts.is_empty())
        });
        if declares == self.now.declare_parts.contains(&file) {
            return;
        }
        if declares {
            self.now.declare_parts.insert_mut(file);
        } else {
            self.now.declare_parts.remove_mut(&file);
        }
    }

    /// Stores results across the files of the repository at `root`, computed by a snapshot.
    pub fn put_across(&mut self, root: &Arc<Path>, findings: Vec<Finding>) -> Invalidated {
        let mut now = CrossFileResults::default();
        for finding in findings {
            now.entry(finding.place.file).or_default().push(finding);
        }
        let before = self.now.across.get(root).cloned().unwrap_or_default();
        let mut changed: Vec<FileId> = before.keys().chain(now.keys()).copied().collect();
        changed.sort_unstable();
        changed.dedup();
        changed.retain(|file| before.get(file) != now.get(file));
        for file in &changed {
            self.touch(*file);
        }
        self.now.across.insert_mut(Arc::clone(root), Arc::new(now));
        // A repository is opened when one of its files is first needed; results on its settings are reported here.
        let repositories = self.now.repositories();
        let own = repositories.iter().filter(|repository| repository.root == *root);
        for file in own
            .filter(|own| !own.findings.is_empty())
            .filter_map(|own| own.settings_file)
        {
            if !changed.contains(&file) {
                changed.push(file);
            }
        }
        Invalidated {
            changed,
            ..Invalidated::default()
        }
    }
}

fn points_into(finding: &Finding, file: FileId) -> bool {
    let mut related = finding.related.iter();
    finding.place.file == file || related.any(|related| related.place.file == file)
}
