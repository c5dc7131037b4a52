use std::collections::{HashMap, HashSet};
use std::fmt::Write;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use drysheath_disk::{canonical, create_folder, replace};
use drysheath_office::Date;
use drysheath_report::{EarlierOffice, OfficeView, earlier_offices, several};
use drysheath_sheets::{OfficeEntry, Since as Earlier, Subject, entry, index, is_work, sheets};
use drysheath_workspace::{Analysis, LoweredFile, Snapshot, Texts, slashed};

use crate::arguments::SheetsArguments;
use crate::git::Git;
use crate::offices::{NamedFiles, Offices};
use crate::outcome::Outcome;
use crate::portable::portable;
use crate::progress::Progress;
use crate::records::by_tree;
use crate::since::Since;
use crate::standard_streams::{print, print_error};
use crate::today::today;
use crate::versions;

/// Number of digits of a commit id on a sheet.
const DIGITS: usize = 12;

/// Writes the sheets of the offices that the arguments name.
pub(crate) fn run(arguments: &SheetsArguments) -> io::Result<Outcome> {
    if let Some(revision) = &arguments.since {
        return orders(arguments, revision);
    }
    let mut troubles = Vec::new();
    let today = today(arguments.today);
    let named = NamedFiles::find(&arguments.offices, arguments.allow_empty, today, &mut troubles);
    let snapshot = named.workspace.snapshot();
    create_folder(&arguments.to).map_err(|error| io::Error::other(format!("{}: {error}", arguments.to.display())))?;
    let revisions = Revisions::new(&named.paths);
    let progress = Progress::new("offices drawn");
    let stems = stems(&named.paths, &snapshot);
    let made = |office: LoweredFile, at: usize| {
        progress.step();
        let revision = revisions.of(&snapshot, &office);
        let mut analysis = office.analyse();
        if arguments.planned {
            analysis.plan();
        }
        let stem = stems.get(at).map(String::as_str).unwrap_or_default();
        let file = format!("{stem}.html");
        let texts = Texts::default();
        let subject = subject(&analysis, &texts, revision.as_deref(), today);
        (entry(&subject, &file), arguments.to.join(file), sheets(&subject))
    };
    let mut entries = Vec::new();
    // Made on all cores but written by one thread: writing in a folder also removes what killed runs have left there.
    let asked = (arguments.offices.as_slice(), arguments.allow_empty);
    named.each(asked, &mut troubles, made, |(entry, file, text), troubles| {
        match write(&file, &text) {
            Ok(()) => entries.push(entry),
            Err(why) => troubles.push(why),
        }
        Ok(())
    })?;
    progress.end();
    write_index(arguments, &entries, today, &mut troubles);
    Ok(outcome(&troubles))
}

fn outcome(troubles: &[String]) -> Outcome {
    for trouble in troubles {
        print_error(trouble);
    }
    if troubles.is_empty() {
        Outcome::Clean
    } else {
        Outcome::Failed
    }
}

/// Writes an index if a folder or several offices were named.
fn write_index(arguments: &SheetsArguments, entries: &[OfficeEntry], today: Date, troubles: &mut Vec<String>) {
    let is_county = arguments.offices.iter().any(|path| path.is_dir()) || arguments.offices.len() > 1;
    if is_county && !entries.is_empty() {
        let files = index(entries, today).into_iter();
        troubles.extend(files.filter_map(|(name, text)| write(&arguments.to.join(name), &text).err()));
    }
}

/// Writes a work order for each office that differs from its state at a revision.
fn orders(arguments: &SheetsArguments, revision: &str) -> io::Result<Outcome> {
    let mut troubles = Vec::new();
    let today = today(arguments.today);
    let offices = Offices::compute(&arguments.offices, arguments.allow_empty, today, &mut troubles);
    create_folder(&arguments.to).map_err(|error| io::Error::other(format!("{}: {error}", arguments.to.display())))?;
    let snapshot = offices.workspace.snapshot();
    let paths: Vec<PathBuf> = offices.all.iter().map(|analysis| analysis.path.to_path_buf()).collect();
    let stems = stems(&paths, &snapshot);
    let mut before: Vec<Option<EarlierOffice>> = offices.all.iter().map(|_| None).collect();
    let mut gone = Vec::new();
    let mut commits: Vec<String> = Vec::new();
    for (folder, meant) in by_tree(&arguments.offices) {
        let (version, top) = versions::before(revision, &folder)?;
        commits.extend(version.commit.clone());
        let top = canonical(&top)?;
        let inner = |path: &Path| Some(slashed(canonical(path).ok()?.strip_prefix(&top).ok()?));
        let wanted: Vec<PathBuf> = meant.iter().filter_map(|path| inner(path)).map(PathBuf::from).collect();
        let all = offices.all.iter().enumerate();
        let here: Vec<(usize, String, &Analysis)> = all
            .filter_map(|(at, office)| Some((at, inner(&office.path)?, office)))
            .collect();
        let now: Vec<(String, &Analysis)> = here.iter().map(|(_, path, office)| (path.clone(), *office)).collect();
        let (earlier, failed) = earlier_offices(version, &offices.workspace, &offices.texts, &now, |path| {
            wanted.iter().any(|wanted| Path::new(path).starts_with(wanted))
        });
        troubles.extend(failed);
        for office in earlier {
            match office.now.and_then(|at| before.get_mut(here.get(at)?.0)) {
                Some(slot) => *slot = Some(office),
                None => gone.push(office.analysis.path.display().to_string()),
            }
        }
    }
    // The order names the commit, since a branch will have moved by the time somebody works from the paper.
    commits.dedup();
    let named = match commits.as_slice() {
        [commit] if !commit.starts_with(revision) => format!("{revision} ({})", short(commit)),
        _ => revision.to_owned(),
    };
    let mut entries = Vec::new();
    let mut same = 0;
    for ((analysis, stem), office) in offices.all.iter().zip(&stems).zip(&before) {
        if office.as_ref().is_some_and(|office| !is_work(office)) {
            same += 1;
            continue;
        }
        let since = Earlier {
            revision: &named,
            office: office.as_ref(),
        };
        let texts = Texts::default();
        let subject = Subject {
            since: Some(since),
            ..subject(analysis, &texts, None, today)
        };
        let file = format!("{stem}.html");
        match write(&arguments.to.join(&file), &sheets(&subject)) {
            Ok(()) => entries.push(entry(&subject, &file)),
            Err(why) => troubles.push(why),
        }
    }
    write_index(arguments, &entries, today, &mut troubles);
    let mut told = format!(
        "{} since {revision}; {} without a change {} none\n",
        several(entries.len(), "work order"),
        several(same, "office"),
        if same == 1 { "has" } else { "have" }
    );
    for path in gone {
        let _ = writeln!(
            told,
            "{path}: this office no longer exists; its equipment is not in any work order"
        );
    }
    print(drysheath_text::safe::terminal(&told).as_bytes())?;
    Ok(outcome(&troubles))
}

fn short(commit: &str) -> &str {
    commit.get(..DIGITS).unwrap_or(commit)
}

/// Input for the sheets of an office. They show no places in files, so no file texts are needed.
fn subject<'a>(analysis: &'a Analysis, texts: &'a Texts, revision: Option<&'a str>, date: Date) -> Subject<'a> {
    let view = OfficeView::of(analysis, texts);
    Subject {
        view,
        whole: &analysis.office,
        findings: analysis.findings(),
        date,
        revision,
        since: None,
    }
}

fn write(file: &Path, text: &str) -> Result<(), String> {
    let failed = |error: io::Error| format!("{}: {error}", file.display());
    if let Some(folder) = file.parent() {
        create_folder(folder).map_err(failed)?;
    }
    let lost = replace(file, text.as_bytes()).map_err(failed)?;
    match lost.first() {
        Some(lost) => Err(format!("{}: {lost}", file.display())),
        None => Ok(()),
    }
}

/// File stem of each office in the output folder: its path in its repository, so that offices of the same name get
/// different files. If paths of several repositories are the same, or differ only in case, later ones get a number,
/// since the folder may be copied to a case-insensitive file system.
pub(crate) fn stems(paths: &[PathBuf], snapshot: &Snapshot) -> Vec<String> {
    // Reserved for the index of the folder.
    let mut taken = HashSet::from(["index".to_owned()]);
    paths
        .iter()
        .map(|path| {
            let name = snapshot.name(snapshot.file(path));
            let name = if name.is_empty() { slashed(path) } else { name };
            // Never outside the folder, whatever the path is.
            let name: Vec<String> = name
                .split('/')
                .filter(|part| !matches!(*part, "" | "." | ".."))
                .map(portable)
                .collect();
            let name = name.join("/");
            let mut stem = name.clone();
            let mut number = 1_u32;
            while !taken.insert(stem.to_lowercase()) {
                number += 1;
                stem = format!("{name}.{number}");
            }
            stem
        })
        .collect()
}

/// Commits of the files.
struct Revisions {
    /// Last commit of each tree, by its top folder, and the changes since.
    trees: Vec<(PathBuf, String, Since)>,
    /// Index of the tree of each folder looked up.
    known: Mutex<HashMap<PathBuf, Option<usize>>>,
}

impl Revisions {
    /// Asks git once per tree. Files outside git, or in a tree without commits, have no revision.
    fn new(paths: &[PathBuf]) -> Self {
        let mut trees: Vec<(PathBuf, String, Since)> = Vec::new();
        for path in paths {
            let folder = path.parent().unwrap_or(Path::new(""));
            let folder = if folder.as_os_str().is_empty() {
                Path::new(".")
            } else {
                folder
            };
            let Ok(real) = canonical(folder) else {
                continue;
            };
            if trees.iter().any(|(top, ..)| real.starts_with(top)) {
                continue;
            }
            let Ok(git) = Git::around(folder) else { continue };
            let commit = git.commit("HEAD");
            let since = Since::new("HEAD", std::slice::from_ref(path));
            if let (Ok(commit), Ok(since)) = (commit, since) {
                trees.push((git.top().to_owned(), commit, since));
            }
        }
        Self {
            trees,
            known: Mutex::default(),
        }
    }

    fn of(&self, snapshot: &Snapshot, office: &LoweredFile) -> Option<String> {
        let folder = office.path.parent()?;
        let folder = if folder.as_os_str().is_empty() {
            Path::new(".")
        } else {
            folder
        };
        let at = {
            let mut known = self.known.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
            *known.entry(folder.to_owned()).or_insert_with(|| {
                let real = canonical(folder).ok()?;
                self.trees.iter().position(|(top, ..)| real.starts_with(top))
            })
        };
        let (_, commit, since) = self.trees.get(at?)?;
        let short = short(commit);
        Some(if since.affects(snapshot, office) {
            format!("{short} with changes that are not committed")
        } else {
            short.to_owned()
        })
    }
}
