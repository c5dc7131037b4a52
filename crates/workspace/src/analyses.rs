//! Texts of files, and analyses of single files.

use std::path::Path;
use std::sync::{Arc, PoisonError};

use drysheath_office::lower;
use drysheath_rules::Finding;
use drysheath_syntax::{Tree, parse_all, reparse};
use drysheath_text::{Edit, FileId, LineIndex, apply};
use rustc_hash::FxHashMap;

use crate::analysis::{Analysis, LoweredFile, MadeFrom, ReadFile};
use crate::parts::{LookedUpFiles, RepositoryParts};
use crate::repository::{Repository, shown};
use crate::snapshot::Snapshot;
use crate::source::Content;
use crate::texts::Texts;
use crate::version::FileVersion;

impl Snapshot {
    /// Content of a file, and the editor's version number if it is open. `None` if the file does not exist.
    ///
    /// # Errors
    ///
    /// A message if the file exists but cannot be read.
    pub fn content(&self, file: FileId) -> Result<Option<(Option<i32>, Content)>, String> {
        let state = self.files.get(&file);
        if let Some(buffer) = state.and_then(|state| state.version.buffer.as_ref()) {
            return Ok(Some((buffer.version, buffer.content.clone())));
        }
        let Some(path) = self.path(file) else { return Ok(None) };
        let folder = self.repositories.innermost(path.parent().unwrap_or(Path::new("")));
        Ok(self.source.read(&path, folder)?.map(|content| (None, content)))
    }

    /// Text of a file with its line index. `None` if it cannot be read.
    pub fn text(&self, file: FileId) -> Option<(Arc<str>, LineIndex)> {
        if let Some(analysis) = self.cache.get(file, &self.file_version(file)) {
            return Some((Arc::clone(&analysis.text), analysis.lines.clone()));
        }
        let (_, content) = self.content(file).ok().flatten()?;
        let lines = LineIndex::new(&content.text);
        Some((content.text, lines))
    }

    /// Reads and lowers a file. `None` if the file does not exist, or if its repository is in a language newer than
    /// this program.
    ///
    /// # Errors
    ///
    /// A message if the file exists but cannot be read.
    pub fn read(&self, file: FileId) -> Result<Option<LoweredFile>, String> {
        self.read_all(&[file]).pop().unwrap_or(Ok(None))
    }

    /// Reads and lowers several files, each step for all of them before the next: code and tables of a step stay in the
    /// processor's cache, which is faster than file by file.
    pub fn read_all(&self, files: &[FileId]) -> Vec<Result<Option<LoweredFile>, String>> {
        let mut read = Vec::with_capacity(files.len());
        let found: Vec<_> = files
            .iter()
            .map(|file| Ok(self.read_bytes(*file)?.map(|file| read.push(file))))
            .collect();
        let mut lowered = self.lower_all(read).into_iter();
        let lowered = found
            .into_iter()
            .map(|found: Result<_, String>| Ok(found?.and_then(|()| lowered.next())));
        lowered.collect()
    }

    /// Reads the bytes of a file without interpreting them. `None` if the file does not exist, or if its repository is
    /// in a language newer than this program.
    ///
    /// # Errors
    ///
    /// A message if the file exists but cannot be read.
    pub fn read_bytes(&self, file: FileId) -> Result<Option<ReadFile>, String> {
        let repository = self.repository(file);
        if repository.is_too_new {
            return Ok(None);
        }
        let content = self.content(file)?;
        Ok(content.map(|(version, content)| self.read_file(file, repository, version, content)))
    }

    fn read_file(&self, file: FileId, repository: Arc<Repository>, version: Option<i32>, content: Content) -> ReadFile {
        let path = self.path(file).unwrap_or_else(|| Path::new("").into());
        let name = repository.name_of(&path, self).into();
        ReadFile {
            file,
            path,
            name,
            repository,
            version,
            content,
        }
    }

    /// Parses and lowers files whose bytes were read in this state.
    pub fn lower_all(&self, files: Vec<ReadFile>) -> Vec<LoweredFile> {
        let texts: Vec<&str> = files.iter().map(|file| &*file.content.text).collect();
        let trees = parse_all(&texts).into_iter().map(Arc::new);
        let lowered = files.into_iter().zip(trees).map(|(file, tree)| self.lower(file, tree));
        lowered.collect()
    }

    /// Reads a file of which an earlier text was analysed: only the difference is parsed.
    fn read_after(&self, file: FileId, before: Option<&Analysis>) -> Result<Option<LoweredFile>, String> {
        let Some(before) = before else {
            return self.read(file);
        };
        let lowered = self.read_bytes(file)?.map(|read| {
            let tree = Arc::new(reparse(&before.tree, &before.text, &read.content.text));
            self.lower(read, tree)
        });
        Ok(lowered)
    }

    /// Lowers a file again that was read in another state and has the same text: only the files that it uses may
    /// differ.
    pub fn read_again(&self, lowered: &LoweredFile) -> LoweredFile {
        let content = Content {
            text: Arc::clone(&lowered.text),
            problem: lowered.problem.clone(),
        };
        let repository = self.repository(lowered.file);
        let read = self.read_file(lowered.file, repository, lowered.version, content);
        self.lower(read, Arc::clone(&lowered.tree))
    }

    fn lower(&self, read: ReadFile, tree: Arc<Tree>) -> LoweredFile {
        let ReadFile {
            file,
            path,
            name,
            repository,
            version,
            content,
        } = read;
        let within = RepositoryParts::new(self, &repository);
        let office = lower(file, &name, Arc::clone(&content.text), &tree, &within);
        let LookedUpFiles { files, used } = within.into_looked_up();
        let mut made_from = files;
        made_from.push((file, self.file_version(file)));
        LoweredFile {
            file,
            path,
            name,
            version,
            text: content.text,
            problem: content.problem,
            tree,
            office,
            repository,
            used,
            made_from,
            today: self.today,
        }
    }

    /// Analysis of a file, cached for this state and for others where it is the same. `None` if the file cannot be
    /// read.
    pub fn analysis(&self, file: FileId) -> Option<Arc<Analysis>> {
        let slot = self.cache.slot(file, &self.file_version(file));
        let anew = || {
            let before = self.cache.before(file);
            let read = self.read_after(file, before.as_deref()).ok().flatten();
            read.map(|lowered| Arc::new(lowered.analyse()))
        };
        let found = slot.analysis.get_or_init(anew);
        if let Some(analysis) = found
            && self.holds(&analysis.repository, &analysis.made_from)
        {
            return Some(Arc::clone(analysis));
        }
        // The cached one was made in another state, where used files differed, or there is none yet.
        let analysis = anew();
        self.cache.replace(&slot, analysis.clone());
        analysis
    }

    /// Analysis of a file without caching, for iterating over many files. Also `None` once cancelled.
    pub fn analyse(&self, file: FileId) -> Option<Arc<Analysis>> {
        if self.is_cancelled() {
            return None;
        }
        let anew = || {
            let before = self.cache.before(file);
            let read = self.read_after(file, before.as_deref()).ok().flatten();
            Some(Arc::new(read?.analyse()))
        };
        self.kept_analysis(file).or_else(anew)
    }

    /// Analysis of a file, if it is cached.
    pub(crate) fn kept_analysis(&self, file: FileId) -> Option<Arc<Analysis>> {
        let kept = self.cache.get(file, &self.file_version(file));
        kept.filter(|kept| self.holds(&kept.repository, &kept.made_from))
    }

    /// Whether the files that something was made from have the same versions in this state.
    pub(crate) fn holds(&self, repository: &Arc<Repository>, made_from: &MadeFrom) -> bool {
        let is_same = |(file, version): &(FileId, Arc<FileVersion>)| Arc::ptr_eq(&self.file_version(*file), version);
        let own = made_from.last();
        made_from.iter().all(is_same) && own.is_some_and(|(file, _)| Arc::ptr_eq(&self.repository(*file), repository))
    }

    /// This state with replaced texts of some files, as if they had been edited at once.
    #[must_use]
    pub fn with_texts(&self, texts: impl IntoIterator<Item = (FileId, Arc<str>)>) -> Self {
        let mut other = self.clone();
        for (file, text) in texts {
            let content = Content { text, problem: None };
            let mut state = self.state(file);
            state.version = FileVersion::open(self.version(file), content);
            other.files.insert_mut(file, state);
        }
        // Analyses of these texts must not evict those that an editor shows.
        other.cache = Arc::new(self.cache.beside());
        other
    }

    /// The results of a file after some edits. They are cached with its analysis: an editor requests the same actions
    /// at each movement of the caret. `None` if the edits overlap or the request is cancelled.
    pub fn findings_after(&self, analysis: &Analysis, edits: &[Edit]) -> Option<Arc<[Finding]>> {
        /// Limit of cached edits for one text.
        const MOST: usize = 64;
        let lock = || analysis.tried.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = lock().get(edits) {
            return Some(Arc::clone(known));
        }
        let text = apply(&analysis.text, edits)?;
        let after = self.with_texts([(analysis.file, text.into())]).analyse(analysis.file)?;
        let findings: Arc<[Finding]> = after.findings().into();
        let mut tried = lock();
        if tried.len() >= MOST {
            tried.clear();
        }
        tried.insert(edits.into(), Arc::clone(&findings));
        Some(findings)
    }

    /// Paths and texts of files. Texts that are `at_hand` are not read again.
    pub fn texts(&self, files: impl IntoIterator<Item = FileId>, at_hand: &FxHashMap<FileId, Arc<str>>) -> Texts {
        let read = |file| Some(self.content(file).ok()??.1.text);
        let mut texts = Texts::default();
        for file in files {
            let Some(path) = self.path(file) else { continue };
            let text = at_hand.get(&file).cloned().or_else(|| read(file)).unwrap_or_default();
            let from_root = self.repository(file).path_from_root(&path, self);
            texts.insert(file, shown(&path).into(), from_root.into(), text);
        }
        texts
    }
}
