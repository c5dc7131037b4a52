//! The offices that the arguments of a command name, computed.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_disk::{Disk, find};
use drysheath_office::Date;
use drysheath_report::View;
use drysheath_workspace::{Analysis, Content, LoweredFile, Snapshot, Texts, Workspace};
use rayon::prelude::*;

use crate::named_files::{ALLOW_EMPTY, empty, folders, missing};

/// The offices, in the order of the arguments and by name, and the texts of all files that they are made from.
pub(crate) struct Offices {
    pub all: Vec<Analysis>,
    pub texts: Texts,
    /// What they were read in.
    pub workspace: Workspace,
}

/// The files that the arguments of a command name, before any of them is read.
pub(crate) struct Named {
    pub workspace: Workspace,
    pub paths: Vec<PathBuf>,
}

impl Named {
    /// Finds the files. What cannot be looked at is reported in `troubles`, and so is a folder without any, unless that is allowed.
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
        // What its language is too new for is said once of each repository.
        paths.retain(|path| !snapshot.repository(snapshot.file(path)).is_too_new);
        Self { workspace, paths }
    }
}

/// Reads a file; none where it describes no office, as a file of parts in a folder does.
///
/// # Errors
///
/// In words, if it cannot be read, or if it was named and describes no office.
pub(crate) fn read(path: &PathBuf, meant: &[PathBuf], snapshot: &Snapshot) -> Result<Option<LoweredFile>, String> {
    match one(path, snapshot) {
        Ok(None) if meant.contains(path) => Err(format!("{}: it does not describe an office", path.display())),
        Ok(office) => Ok(office),
        Err(why) => Err(format!("{}: {why}", path.display())),
    }
}

impl Offices {
    /// Reads and computes the requested offices, on all cores. Offices that cannot be read are reported in `troubles`, and so is
    /// a request without any, unless that is allowed.
    pub fn compute(meant: &[PathBuf], allow_empty: bool, today: Date, troubles: &mut Vec<String>) -> Self {
        Self::compute_with(meant, None, allow_empty, today, troubles)
    }

    /// The same with one more statement at the end of each office. What is wrong with it is reported in `troubles`.
    pub fn compute_with(
        meant: &[PathBuf],
        statement: Option<&str>,
        allow_empty: bool,
        today: Date,
        troubles: &mut Vec<String>,
    ) -> Self {
        let mut named = Named::find(meant, allow_empty, today, troubles);
        if let Some(statement) = statement {
            append(&mut named.workspace, &named.paths, statement);
        }
        let named = named;
        let snapshot = named.workspace.snapshot();
        let read = |path| Ok(self::read(path, meant, &snapshot)?.map(LoweredFile::analyse));
        let computed: Vec<Result<_, String>> = named.paths.par_iter().map(read).collect();
        let mut all = Vec::new();
        for computed in computed {
            match computed {
                Ok(Some(office)) => {
                    if let Some(statement) = statement {
                        troubles.extend(wrong_with(&office, statement));
                    }
                    all.push(office);
                }
                Ok(None) => {}
                Err(why) => troubles.push(why),
            }
        }
        // Without its settings an office would be computed by figures that are not its own.
        troubles.extend(
            snapshot
                .repositories()
                .iter()
                .filter_map(|repository| repository.unreadable.clone()),
        );
        if all.is_empty() && troubles.is_empty() && !allow_empty {
            troubles.push(format!(
                "none of these files describes an office; {ALLOW_EMPTY} allows that"
            ));
        }
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

    /// What tables, pictures and records of an office are made from.
    pub fn view<'o>(&'o self, analysis: &'o Analysis) -> View<'o> {
        View::of(analysis, &self.texts)
    }
}

/// Puts a statement behind the text of each file. Only what is computed sees it: no file is written.
fn append(workspace: &mut Workspace, paths: &[PathBuf], statement: &str) {
    let snapshot = workspace.snapshot();
    for path in paths {
        let Ok(Some(reading)) = snapshot.read(snapshot.file(path)) else {
            continue;
        };
        if reading.problem.is_none() && reading.office.itself.is_some() {
            let content = Content {
                text: format!("{}\n{statement}\n", reading.text).into(),
                problem: None,
            };
            workspace.set_buffer(path, None, content);
        }
    }
}

/// What could not be read in the statement that was put behind an office's text.
fn wrong_with(analysis: &Analysis, statement: &str) -> Vec<String> {
    let start = analysis.text.len().saturating_sub(statement.len() + 1);
    let problems = analysis.office.problems.iter();
    let own = problems.filter(|problem| problem.range.start as usize >= start);
    own.map(|problem| match &problem.help {
        Some(help) => format!("{}: {}; {help}", analysis.path.display(), problem.message),
        None => format!("{}: {}", analysis.path.display(), problem.message),
    })
    .collect()
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
