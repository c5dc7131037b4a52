use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_disk::{Found, read, walk};
use drysheath_office::{Networks, Office, lower};
use drysheath_prediction::Prediction;
use drysheath_report::View;
use drysheath_syntax::parse;

use crate::files::{ClosedFiles, FileTable};
use crate::repository::{Repositories, Repository};

/// An office that was read, and its repository.
pub(crate) struct Computed {
    pub office: Office,
    pub networks: Networks,
    pub prediction: Prediction,
    pub repository: Arc<Repository>,
}

impl Computed {
    /// The office as it is told of.
    pub fn view<'c>(&'c self, files: &'c ClosedFiles) -> View<'c> {
        View {
            office: &self.office,
            networks: &self.networks,
            prediction: &self.prediction,
            settings: &self.repository.settings,
            files,
        }
    }
}

/// Reads and computes the offices that are meant. What cannot be is said in `troubles`.
pub(crate) fn compute(meant: &[PathBuf], troubles: &mut Vec<String>) -> (Vec<Computed>, ClosedFiles) {
    let files = Arc::new(FileTable::default());
    let repositories = Repositories::new(Arc::clone(&files));
    let mut found = Vec::new();
    for (path, start) in paths(meant, troubles) {
        match one(&path, &start, &files, &repositories) {
            Ok(Some(computed)) => found.push(computed),
            // A folder may hold files of parts besides; a file that is named was meant.
            Ok(None) if !meant.contains(&path) => {}
            Ok(None) => troubles.push(format!("{}: it describes no office", path.display())),
            Err(error) => troubles.push(format!("{}: {error}", path.display())),
        }
    }
    (found, files.so_far())
}

/// The files that are meant, each with the folder that it was found from, in the order of the arguments and by name.
fn paths(meant: &[PathBuf], troubles: &mut Vec<String>) -> Vec<(PathBuf, PathBuf)> {
    let mut all = Vec::new();
    for path in meant {
        let mut found = Vec::new();
        walk(
            std::slice::from_ref(path),
            None,
            || (Vec::new(), Vec::new()),
            |(files, troubles), entry| match entry {
                Found::File { path, start } => files.push((path.to_owned(), start.to_owned())),
                Found::Trouble(trouble) => troubles.push(trouble),
            },
            |(files, failed)| {
                found.extend(files);
                troubles.extend(failed);
            },
        );
        found.sort();
        all.extend(found);
    }
    all
}

fn one(path: &Path, start: &Path, files: &FileTable, repositories: &Repositories) -> io::Result<Option<Computed>> {
    let text = read(path)?;
    if let Some(problem) = text.problem {
        return Err(io::Error::other(problem.message));
    }
    let repository = repositories.of(path, start);
    let file = files.add(path);
    let text: Arc<str> = text.text.into();
    files.keep(file, Arc::clone(&text));
    let office = lower(
        file,
        &repository.name_of(path),
        Arc::clone(&text),
        &parse(&text),
        &*repository,
    );
    if office.itself.is_none() {
        return Ok(None);
    }
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    Ok(Some(Computed {
        office,
        networks,
        prediction,
        repository,
    }))
}
