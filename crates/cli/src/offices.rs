//! Computes the offices that the arguments of a command name.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use drysheath_disk::{Disk, find};
use drysheath_office::Date;
use drysheath_report::OfficeView;
use drysheath_text::FileId;
use drysheath_workspace::{Analysis, LoweredFile, Snapshot, Texts, Workspace};
use rayon::prelude::*;
use rustc_hash::FxHashMap;

use crate::named_files::{ALLOW_EMPTY, empty, folders, missing};

/// The offices, in the order of the arguments and by name, and the texts of all files they use.
pub(crate) struct Offices {
    pub all: Vec<Analysis>,
    pub texts: Texts,
    /// Workspace they were read in.
    pub workspace: Workspace,
}

/// Number of offices computed and in memory at once: the output of one may be large, and a county has thousands.
const AT_ONCE: usize = 64;

/// Texts of files that several offices use: the most recently used ones, up to [`SHARED_TEXTS`] bytes.
#[derive(Default)]
pub(crate) struct SharedTexts(Mutex<Recent>);

#[derive(Default)]
struct Recent {
    texts: FxHashMap<FileId, Arc<str>>,
    bytes: usize,
}

/// Parts files are small and used by many offices. An office at the other end of a route is needed by its neighbours,
/// which usually follow soon.
const SHARED_TEXTS: usize = 16 << 20;

impl SharedTexts {
    /// Texts of all files that an office uses.
    pub fn of(&self, analysis: &Analysis, snapshot: &Snapshot) -> Texts {
        let own = (analysis.file, Arc::clone(&analysis.text));
        let others = analysis.files().filter(|file| *file != analysis.file);
        let others = others.filter_map(|file| Some((file, self.text(file, snapshot)?)));
        let at_hand = others.chain([own]).collect();
        snapshot.texts(analysis.files(), &at_hand)
    }

    fn text(&self, file: FileId, snapshot: &Snapshot) -> Option<Arc<str>> {
        let recent = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(text) = recent().texts.get(&file) {
            return Some(Arc::clone(text));
        }
        let (text, _) = snapshot.text(file)?;
        let mut recent = recent();
        if recent.bytes + text.len() > SHARED_TEXTS {
            *recent = Recent::default();
        }
        recent.bytes += text.len();
        recent.texts.insert(file, Arc::clone(&text));
        Some(text)
    }
}

/// Files that the arguments of a command name, before they are read.
pub(crate) struct NamedFiles {
    pub workspace: Workspace,
    pub paths: Vec<PathBuf>,
}

impl NamedFiles {
    /// Finds the files. Paths that cannot be read are reported in `troubles`, and so is a folder without offices unless
    /// allowed.
    pub fn find(meant: &[PathBuf], allow_empty: bool, today: Date, troubles: &mut Vec<String>) -> Self {
        let mut workspace = Workspace::new(Arc::new(Disk), today);
        workspace.set_folders(folders(meant.iter().map(PathBuf::as_path)));
        let snapshot = workspace.snapshot();
        let found = find(meant);
        troubles.extend(found.troubles);
        if !allow_empty {
            troubles.extend(found.empty.iter().map(|folder| empty(folder)));
        }
        let mut paths = found.files;
        // A language version that is too new is reported once per repository.
        paths.retain(|path| !snapshot.repository(snapshot.file(path)).is_too_new);
        Self { workspace, paths }
    }

    /// Reads the offices on all cores, calls `made` for each, and passes its output to `take` in the order of the
    /// paths; `made` also gets the index of the path. `take` runs while later offices are made. At most twice
    /// [`AT_ONCE`] are in memory at a time. What cannot be read is reported in `troubles`, which `take` is given too,
    /// and so is a request without any office, unless that is allowed.
    ///
    /// # Errors
    ///
    /// The error of `take`, after which no more offices are made.
    pub fn each<T: Send>(
        &self,
        (meant, allow_empty): (&[PathBuf], bool),
        troubles: &mut Vec<String>,
        made: impl Fn(LoweredFile, usize) -> T + Sync,
        mut take: impl FnMut(T, &mut Vec<String>) -> io::Result<()> + Send,
    ) -> io::Result<()> {
        let snapshot = self.workspace.snapshot();
        let work = |(at, path): (usize, &PathBuf)| -> Result<Option<T>, String> {
            Ok(read(path, meant, &snapshot)?.map(|office| made(office, at)))
        };
        let mut is_any = false;
        let mut take_all = |made: Vec<Result<Option<T>, String>>| -> io::Result<()> {
            for one in made {
                match one {
                    Ok(None) => {}
                    Ok(Some(one)) => {
                        is_any = true;
                        take(one, troubles)?;
                    }
                    Err(why) => troubles.push(why),
                }
            }
            Ok(())
        };
        let mut before = Vec::new();
        for (number, paths) in self.paths.chunks(AT_ONCE).enumerate() {
            let numbered = paths.par_iter().enumerate();
            let work_all = || numbered.map(|(at, path)| work((number * AT_ONCE + at, path))).collect();
            let (taken, next) = rayon::join(|| take_all(before), work_all);
            taken?;
            before = next;
        }
        take_all(before)?;
        conclude(&snapshot, !is_any && !allow_empty, troubles);
        Ok(())
    }
}

/// Reads a file. `None` if it is not an office, for example a parts file in a folder.
///
/// # Errors
///
/// A message if it cannot be read, or if it was named explicitly and is not an office.
fn read(path: &PathBuf, meant: &[PathBuf], snapshot: &Snapshot) -> Result<Option<LoweredFile>, String> {
    match one(path, snapshot) {
        Ok(None) if meant.contains(path) => Err(format!("{}: it does not describe an office", path.display())),
        Ok(office) => Ok(office),
        Err(why) => Err(format!("{}: {why}", path.display())),
    }
}

impl Offices {
    /// Reads and computes the requested offices on all cores. Offices that cannot be read are reported in `troubles`,
    /// and so is a request without any office, unless allowed.
    pub fn compute(meant: &[PathBuf], allow_empty: bool, today: Date, troubles: &mut Vec<String>) -> Self {
        let named = NamedFiles::find(meant, allow_empty, today, troubles);
        let snapshot = named.workspace.snapshot();
        let read = |path| Ok(self::read(path, meant, &snapshot)?.map(LoweredFile::analyse));
        let computed: Vec<Result<_, String>> = named.paths.par_iter().map(read).collect();
        let mut all = Vec::new();
        for computed in computed {
            match computed {
                Ok(office) => all.extend(office),
                Err(why) => troubles.push(why),
            }
        }
        conclude(&snapshot, all.is_empty() && !allow_empty, troubles);
        let at_hand = all
            .iter()
            .map(|analysis| (analysis.file, Arc::clone(&analysis.text)))
            .collect();
        let texts = snapshot.texts(snapshot.numbered(), &at_hand);
        Self {
            all,
            texts,
            workspace: named.workspace,
        }
    }

    /// View of an office for tables, pictures and records.
    pub fn view<'o>(&'o self, analysis: &'o Analysis) -> OfficeView<'o> {
        OfficeView::of(analysis, &self.texts)
    }
}

/// Reports settings that could not be read: without them offices would be computed with the wrong figures. If there is
/// no other error, reports that no offices were found if they are `missing`.
fn conclude(snapshot: &Snapshot, missing: bool, troubles: &mut Vec<String>) {
    let repositories = snapshot.repositories();
    troubles.extend(
        repositories
            .iter()
            .filter_map(|repository| repository.unreadable.clone()),
    );
    if missing && troubles.is_empty() {
        troubles.push(format!(
            "none of these files describes an office; {ALLOW_EMPTY} allows that"
        ));
    }
}

fn one(path: &Path, snapshot: &Snapshot) -> Result<Option<LoweredFile>, String> {
    let Some(reading) = snapshot.read(snapshot.file(path))? else {
        return Err(missing(path));
    };
    if let Some(problem) = reading.problem {
        return Err(problem.message);
    }
    Ok(reading.office.itself.is_some().then_some(reading))
}
