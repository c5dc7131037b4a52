//! Cached results of earlier runs. A file whose text and inputs are unchanged keeps its results: it is read, but
//! neither parsed nor computed.
//!
//! The entry of a file is found by its name and is valid only for the same inputs: its bytes, those of every file
//! looked up while it was read (or the absence of that file), the settings in force, the bytes of the program, and the
//! day where results depend on it. Results across files are recomputed in each run from the summaries of all files.
//! Entries that are missing or damaged are recomputed.

use std::collections::BTreeMap;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock, PoisonError, RwLock};

use drysheath_disk::canonical;
use drysheath_office::{Date, Office};
use drysheath_report::{KnownFile, KnownFiles};
use drysheath_rules::{Coverage, Finding};
use drysheath_text::FileId;
use drysheath_workspace::{Digest, LoweredFile, ProvidedContent, ReadFile, Repository, Snapshot};
use rustc_hash::FxHashMap;

mod folder;
mod outcome;
mod pack;

use folder::{Folder, LARGEST_PACK};
use outcome::{Days, FileOf, Inputs, Outcome, day};
use pack::Pack;

/// Cached results of earlier runs.
pub(crate) struct Cache {
    folder: Folder,
    /// Directory that repository roots are relative to.
    top: PathBuf,
    build: OnceLock<Option<Digest>>,
    today: Date,
    /// By repository root as the user gave it; `None` if nothing can be cached for it. Several roots may share one
    /// cache.
    repositories: RwLock<FxHashMap<Arc<Path>, Option<Arc<RepositoryCache>>>>,
}

/// Cached results of one repository.
struct RepositoryCache {
    /// Name of its pack, derived from its root without symbolic links.
    name: String,
    pack: Pack,
    build: Digest,
    new: Mutex<New>,
}

/// Entries added in this run.
#[derive(Default)]
struct New {
    /// The encoded outcome of each file, by the name of the file in its repository.
    entries: BTreeMap<Box<str>, Vec<u8>>,
    bytes: usize,
}

/// The results of a file, how much of it could be checked, and the facts other files need.
pub(crate) type Judgement = (Vec<Finding>, Coverage, KnownFile);

impl Cache {
    /// Opens the user's cache for repositories in the folder `top`. `None` if the user has no cache folder.
    pub fn open(top: &Path, today: Date) -> Option<Self> {
        Some(Self {
            folder: Folder::open()?,
            top: top.to_owned(),
            build: OnceLock::new(),
            today,
            repositories: RwLock::default(),
        })
    }

    fn repository(&self, repository: &Repository) -> Option<Arc<RepositoryCache>> {
        if repository.unreadable.is_some() {
            return None;
        }
        let known = self.repositories.read().unwrap_or_else(PoisonError::into_inner);
        if let Some(cache) = known.get(&repository.root) {
            return cache.clone();
        }
        drop(known);
        let mut all = self.repositories.write().unwrap_or_else(PoisonError::into_inner);
        if let Some(cache) = all.get(&repository.root) {
            return cache.clone();
        }
        let cache = self.name(&repository.root).and_then(|name| {
            // The same root may have been given in another form.
            let same = all.values().flatten().find(|other| other.name == name);
            same.cloned().or_else(|| self.open_repository(name).map(Arc::new))
        });
        all.insert(Arc::clone(&repository.root), cache.clone());
        cache
    }

    /// Name of the pack for a root. `None` if nothing may be cached for it.
    fn name(&self, root: &Path) -> Option<String> {
        let root = self.top.join(root);
        let root = if root.as_os_str().is_empty() {
            Path::new(".")
        } else {
            &root
        };
        let root = canonical(root).ok()?;
        let is_outside = self.folder.is_outside_of(&root);
        is_outside.then(|| Digest::of(root.as_os_str().as_encoded_bytes()).to_string())
    }

    fn open_repository(&self, name: String) -> Option<RepositoryCache> {
        let build = (*self.build.get_or_init(build))?;
        let pack = self.folder.read(&name).and_then(|bytes| Pack::read(bytes, &build));
        Some(RepositoryCache {
            name,
            pack: pack.unwrap_or_default(),
            build,
            new: Mutex::default(),
        })
    }

    /// Finds the cached entry of a file, if it is still valid, and returns what `use_of` takes from it.
    fn find<T>(
        &self,
        snapshot: &Snapshot,
        read: &ReadFile,
        use_of: impl FnOnce(Days, &Outcome<'_>, FileOf<'_>) -> Option<T>,
    ) -> Option<T> {
        let cache = self.repository(&read.repository)?;
        let entry = cache.pack.get(&read.name)?;
        let (inputs, rest) = postcard::take_from_bytes::<Inputs<'_>>(cache.pack.value(entry)).ok()?;
        if read.content.problem.is_some() {
            return None;
        }
        let mut given = Vec::with_capacity(inputs.uses.len());
        let mut others = Vec::with_capacity(inputs.uses.len());
        for name in &inputs.uses {
            let (file, one) = snapshot.given(&read.repository, name)?;
            given.push((*name, one));
            others.push((*name, file));
        }
        if digest(&read.repository, &read.name, &read.content.text, &given).as_bytes() != &inputs.digest {
            return None;
        }
        let files = distinct((&read.name, read.file), others)?;
        let outcome = postcard::from_bytes(rest).ok()?;
        let found = use_of(inputs.days, &outcome, &files)?;
        entry.note_use();
        Some(found)
    }

    /// Cached results of a file, if they are valid today.
    pub fn judged(&self, snapshot: &Snapshot, read: &ReadFile) -> Option<Judgement> {
        self.find(snapshot, read, |days, outcome, files| {
            let (findings, coverage) = outcome.judged(files).filter(|_| days.have(day(self.today)))?;
            Some((findings, coverage, outcome.known(files)?))
        })
    }

    /// Stores the known facts about a file, and its results if it was checked, unless the inputs cannot be determined.
    pub fn store(&self, file: &LoweredFile, known: &KnownFile, judged: Option<(&[Finding], &Coverage)>) {
        let _ = self.try_store(file, known, judged);
    }

    fn try_store(&self, file: &LoweredFile, known: &KnownFile, judged: Option<(&[Finding], &Coverage)>) -> Option<()> {
        if file.problem.is_some() {
            return None;
        }
        let cache = self.repository(&file.repository)?;
        if judged.is_none() && cache.has_results(&file.name) {
            // The cached results may be of the state not compared; replacing them would make `lint` recompute them.
            return None;
        }
        let given = file.used.as_ref()?.iter().map(|used| Some((&*used.name, used.given?)));
        let given: Vec<(&str, ProvidedContent)> = given.collect::<Option<_>>()?;
        let others = file.used.iter().flatten();
        let files = distinct((&file.name, file.file), others.map(|used| (&*used.name, used.file)))?;
        let outcome = Outcome::of(known, judged, &files)?;
        let inputs = Inputs {
            digest: *digest(&file.repository, &file.name, &file.text, &given).as_bytes(),
            days: days(&file.office, self.today),
            uses: given.iter().map(|(name, _)| *name).collect(),
        };
        let entry = postcard::to_allocvec(&inputs).ok()?;
        let entry = postcard::to_extend(&outcome, entry).ok()?;
        cache.add(&file.name, entry);
        Some(())
    }

    /// Writes the new entries. If all files of a repository were looked at, entries of other files are dropped. Errors
    /// are ignored: what cannot be written is recomputed next time.
    pub fn finish(self, is_whole: impl Fn(&Path) -> bool) {
        let all = self.repositories.into_inner().unwrap_or_else(PoisonError::into_inner);
        let mut by_name: BTreeMap<&str, (&RepositoryCache, bool)> = BTreeMap::new();
        for (root, cache) in &all {
            let Some(cache) = cache else { continue };
            let (_, whole) = by_name.entry(&cache.name).or_insert((cache, false));
            *whole |= is_whole(root);
        }
        for (name, (cache, is_whole)) in by_name {
            let new = cache.new.lock().unwrap_or_else(PoisonError::into_inner);
            if new.entries.is_empty() && (!is_whole || cache.pack.is_all_used()) {
                continue;
            }
            let pieces = cache.pack.with(&new.entries, &cache.build, is_whole, LARGEST_PACK);
            // The pieces are unchanged if there is no room for new entries.
            if !cache.pack.is(&pieces) {
                let [head, body] = pieces;
                let _ = self.folder.write(name, &[&head, &body]);
            }
        }
    }
}

impl RepositoryCache {
    /// Whether results of a file are cached, for whatever inputs.
    fn has_results(&self, name: &str) -> bool {
        let entry = self.pack.get(name).map(|entry| self.pack.value(entry));
        let rest = entry.and_then(|entry| Some(postcard::take_from_bytes::<Inputs<'_>>(entry).ok()?.1));
        rest.is_some_and(|rest| postcard::from_bytes::<Outcome<'_>>(rest).is_ok_and(|outcome| outcome.is_judged()))
    }

    /// Adds an entry, unless the new entries exceed the size of a pack.
    fn add(&self, name: &str, entry: Vec<u8>) {
        let mut new = self.new.lock().unwrap_or_else(PoisonError::into_inner);
        if new.bytes + entry.len() <= LARGEST_PACK {
            new.bytes += entry.len();
            new.entries.insert(name.into(), entry);
        }
    }
}

impl KnownFiles for Cache {
    fn find(&self, snapshot: &Snapshot, read: &ReadFile) -> Option<KnownFile> {
        self.find(snapshot, read, |_, outcome, files| outcome.known(files))
    }

    fn store(&self, reading: &LoweredFile, known: &KnownFile) {
        self.store(reading, known, None);
    }
}

/// Ids of a file and of the files it looked up, in the order of their names there. `None` if one file has two names,
/// for example through a link: a cached place could not say by which name to find the file once they are two files.
fn distinct<'n>(own: (&'n str, FileId), others: impl IntoIterator<Item = (&'n str, FileId)>) -> Option<Vec<FileId>> {
    let mut named = FxHashMap::default();
    let mut files = Vec::new();
    for (name, file) in std::iter::once(own).chain(others) {
        if *named.entry(file).or_insert(name) != name {
            return None;
        }
        files.push(file);
    }
    Some(files)
}

/// Digest of all inputs of a file's results, except the program and the day.
fn digest(repository: &Repository, name: &str, text: &str, given: &[(&str, ProvidedContent)]) -> Digest {
    let text = Digest::of(text.as_bytes());
    let settings = repository.settings_digest.as_bytes();
    let own = [settings.as_slice(), name.as_bytes(), text.as_bytes()];
    let others = given.iter().flat_map(|(name, given)| {
        let given = match given {
            ProvidedContent::Text(digest) => digest.as_bytes().as_slice(),
            ProvidedContent::Nothing => &[],
        };
        [name.as_bytes(), given]
    });
    Digest::of_pieces(own.into_iter().chain(others))
}

/// Days on which the results of an office are the same as today. Rules depend on the day in two ways: acceptances
/// expire, and readings must not be in the future.
fn days(office: &Office, today: Date) -> Days {
    let latest = office.readings.iter().map(|reading| reading.date.value).max();
    match latest {
        _ if !office.acceptances.is_empty() => Days::On(day(today)),
        None => Days::From((0, 0, 0)),
        Some(latest) if latest <= today => Days::From(day(latest)),
        Some(_) => Days::On(day(today)),
    }
}

/// Digest of this program's executable: another build may give other results, even with the same version.
fn build() -> Option<Digest> {
    let running = Path::new("/proc/self/exe");
    let path = if cfg!(target_os = "linux") {
        running.to_owned()
    } else {
        std::env::current_exe().ok()?
    };
    let mut bytes = Vec::new();
    std::fs::File::open(path).ok()?.read_to_end(&mut bytes).ok()?;
    Some(Digest::of(&bytes))
}

#[cfg(test)]
mod tests {
    use drysheath_rules::{Check, RULES};

    #[test]
    fn every_rule_that_asks_for_the_day_is_known_here() {
        let dated = RULES.iter().filter(|rule| matches!(rule.check, Check::OfficeOn(_)));
        let dated: Vec<&str> = dated.map(|rule| rule.name()).collect();
        assert_eq!(
            dated,
            ["reading-in-future"],
            "`days` must know on which days its results are the same"
        );
    }
}
