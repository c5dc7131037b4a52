//! Results of earlier runs. A file that says what it said, with all that its results depend on, has the results that it had: then it
//! is read, but neither parsed nor computed.
//!
//! The entry of a file is found by its name and holds only for the same inputs: its bytes, those of each file that was asked for
//! while it was read (or that there was none), the settings in force, the bytes of the program, and the day where that matters.
//! Results across files are computed anew in each run, from the summaries of all files. What cannot be read, or was damaged, is
//! made again.

use std::collections::BTreeMap;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock, PoisonError, RwLock};

use drysheath_disk::canonical;
use drysheath_office::{Date, Office};
use drysheath_report::{KnownFile, KnownFiles};
use drysheath_rules::{Coverage, Finding};
use drysheath_text::FileId;
use drysheath_workspace::{Digest, Given, LoweredFile, ReadFile, Repository, Snapshot};
use rustc_hash::FxHashMap;

mod folder;
mod outcome;
mod pack;

use folder::Folder;
use outcome::{Days, FileOf, Inputs, Outcome, day};
use pack::Pack;

/// The results of earlier runs.
pub(crate) struct Cache {
    folder: Folder,
    /// The folder that the roots of repositories count from.
    top: PathBuf,
    build: OnceLock<Option<Digest>>,
    today: Date,
    /// By the roots of repositories; none where nothing can be cached.
    repositories: RwLock<FxHashMap<Arc<Path>, Option<Arc<RepositoryCache>>>>,
}

/// The results of one repository.
struct RepositoryCache {
    /// The name of its pack.
    name: String,
    pack: Pack,
    build: Digest,
    /// What this run adds, by the names of files.
    new: Mutex<BTreeMap<Box<str>, Vec<u8>>>,
}

/// The results of a file, how much of it could be checked, and what is to be known of it.
pub(crate) type Judgement = (Vec<Finding>, Coverage, KnownFile);

impl Cache {
    /// The cache of this user, for the repositories in the folder `top`. None where this user has no folder for it.
    pub fn open(top: &Path, today: Date) -> Option<Self> {
        Some(Self {
            folder: Folder::open()?,
            top: top.to_owned(),
            build: OnceLock::new(),
            today,
            repositories: RwLock::default(),
        })
    }

    fn cache(&self, repository: &Repository) -> Option<Arc<RepositoryCache>> {
        if repository.unreadable.is_some() {
            return None;
        }
        let known = self.repositories.read().unwrap_or_else(PoisonError::into_inner);
        if let Some(cache) = known.get(&repository.root) {
            return cache.clone();
        }
        drop(known);
        let mut repositories = self.repositories.write().unwrap_or_else(PoisonError::into_inner);
        let cache = repositories
            .entry(Arc::clone(&repository.root))
            .or_insert_with(|| self.open_repository(&repository.root).map(Arc::new));
        cache.clone()
    }

    fn open_repository(&self, root: &Path) -> Option<RepositoryCache> {
        let root = self.top.join(root);
        let root = if root.as_os_str().is_empty() {
            Path::new(".")
        } else {
            &root
        };
        let root = canonical(root).ok()?;
        if !self.folder.is_outside_of(&root) {
            return None;
        }
        let build = (*self.build.get_or_init(build))?;
        let name = Digest::of(root.as_os_str().as_encoded_bytes()).to_string();
        let pack = self.folder.read(&name).and_then(|bytes| Pack::read(bytes, &build));
        Some(RepositoryCache {
            name,
            pack: pack.unwrap_or_default(),
            build,
            new: Mutex::default(),
        })
    }

    /// The cached entry of a file, if it still holds, for `use_of` to take what it needs out of it.
    fn find<T>(
        &self,
        snapshot: &Snapshot,
        read: &ReadFile,
        use_of: impl FnOnce(Days, &Outcome<'_>, FileOf<'_>) -> Option<T>,
    ) -> Option<T> {
        let cache = self.cache(&read.repository)?;
        let (inputs, rest) = postcard::take_from_bytes::<Inputs<'_>>(cache.pack.get(&read.name)?).ok()?;
        if read.content.problem.is_some() {
            return None;
        }
        let given = inputs.uses.iter();
        let given = given.map(|used| Some((*used, snapshot.given(&read.repository, used)?)));
        let given: Vec<(&str, Given)> = given.collect::<Option<_>>()?;
        if digest(&read.repository, &read.name, &read.content.text, &given).as_bytes() != &inputs.digest {
            return None;
        }
        let file = |number: usize| match number.checked_sub(1) {
            None => Some(read.file),
            Some(at) => Some(snapshot.file_named(read.file, inputs.uses.get(at)?)),
        };
        let outcome = postcard::from_bytes(rest).ok()?;
        let found = use_of(inputs.days, &outcome, &file)?;
        cache.pack.note_use(&read.name);
        Some(found)
    }

    /// The results of a file, if they are cached and hold today.
    pub fn judged(&self, snapshot: &Snapshot, read: &ReadFile) -> Option<Judgement> {
        self.find(snapshot, read, |days, outcome, files| {
            let (findings, coverage) = outcome.judged(files).filter(|_| days.have(day(self.today)))?;
            Some((findings, coverage, outcome.known(files)?))
        })
    }

    /// Stores what is known of a file, and its results where it was judged, if it is known what they follow from.
    pub fn store(&self, file: &LoweredFile, known: &KnownFile, judged: Option<(&[Finding], &Coverage)>) {
        let _ = self.try_store(file, known, judged);
    }

    fn try_store(&self, file: &LoweredFile, known: &KnownFile, judged: Option<(&[Finding], &Coverage)>) -> Option<()> {
        if file.problem.is_some() {
            return None;
        }
        let cache = self.cache(&file.repository)?;
        let given = file.used.as_ref()?.iter().map(|used| Some((&*used.name, used.given?)));
        let given: Vec<(&str, Given)> = given.collect::<Option<_>>()?;
        let others = file.used.iter().flatten().map(|used| used.file);
        let files: Vec<FileId> = std::iter::once(file.file).chain(others).collect();
        let outcome = Outcome::of(known, judged, &files)?;
        let inputs = Inputs {
            digest: *digest(&file.repository, &file.name, &file.text, &given).as_bytes(),
            days: days(&file.office, self.today),
            uses: given.iter().map(|(name, _)| *name).collect(),
        };
        let entry = postcard::to_allocvec(&inputs).ok()?;
        let entry = postcard::to_extend(&outcome, entry).ok()?;
        let mut new = cache.new.lock().unwrap_or_else(PoisonError::into_inner);
        new.insert(file.name.clone(), entry);
        Some(())
    }

    /// Writes down what is new. Of a repository whose files were all looked at, the entries of others are dropped. What cannot be
    /// written is made again next time.
    pub fn finish(self, is_whole: impl Fn(&Path) -> bool) {
        let repositories = self.repositories.into_inner().unwrap_or_else(PoisonError::into_inner);
        for (root, cache) in &repositories {
            let Some(cache) = cache else { continue };
            let new = cache.new.lock().unwrap_or_else(PoisonError::into_inner);
            let is_whole = is_whole(root);
            if new.is_empty() && (!is_whole || cache.pack.is_all_used()) {
                continue;
            }
            let pieces = |only_used| cache.pack.with(&new, &cache.build, only_used);
            let written = |[head, body]: [Vec<u8>; 2]| self.folder.write(&cache.name, &[&head, &body]);
            if written(pieces(is_whole)).is_err() && !is_whole {
                // What has gathered over many runs may be too much.
                let _ = written(pieces(true));
            }
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

/// The digest of all that the results of a file follow from, but for the program and the day.
fn digest(repository: &Repository, name: &str, text: &str, given: &[(&str, Given)]) -> Digest {
    let text = Digest::of(text.as_bytes());
    let settings = repository.settings_digest.as_bytes();
    let own = [settings.as_slice(), name.as_bytes(), text.as_bytes()];
    let others = given.iter().flat_map(|(name, given)| {
        let given = match given {
            Given::Text(digest) => digest.as_bytes().as_slice(),
            Given::Nothing => &[],
        };
        [name.as_bytes(), given]
    });
    Digest::of_pieces(own.into_iter().chain(others))
}

/// The days on which the results of an office are what they are today. Rules ask for the day twice: acceptances run out, and no
/// reading may be of a day that has not come.
fn days(office: &Office, today: Date) -> Days {
    let latest = office.readings.iter().map(|reading| reading.date.value).max();
    match latest {
        _ if !office.acceptances.is_empty() => Days::On(day(today)),
        None => Days::From((0, 0, 0)),
        Some(latest) if latest <= today => Days::From(day(latest)),
        Some(_) => Days::On(day(today)),
    }
}

/// The digest of this program's bytes: another build may judge otherwise, whatever version it says that it is.
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
