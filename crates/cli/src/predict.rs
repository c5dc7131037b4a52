use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_disk::{Found, read, walk};
use drysheath_office::{Habits, Networks, Office, lower};
use drysheath_prediction::Prediction;
use drysheath_report::{Asked, FORM, Report, View, how, tables};
use drysheath_syntax::parse;

use crate::arguments::{PredictArguments, PredictOutput};
use crate::files::{ClosedFiles, FileTable};
use crate::outcome::Outcome;
use crate::repository::{Repositories, Repository};

/// An office that was read, and its repository.
struct Computed {
    office: Office,
    networks: Networks,
    prediction: Prediction,
    repository: Arc<Repository>,
}

impl Computed {
    fn view<'c>(&'c self, files: &'c ClosedFiles) -> View<'c> {
        View {
            office: &self.office,
            networks: &self.networks,
            prediction: &self.prediction,
            settings: &self.repository.settings,
            files,
        }
    }
}

/// Computes the offices that the arguments name and shows them.
pub(crate) fn run(arguments: &PredictArguments) -> io::Result<Outcome> {
    let files = Arc::new(FileTable::default());
    let repositories = Repositories::new(Arc::clone(&files));
    let (mut found, mut troubles) = (Vec::new(), Vec::new());
    for (path, start) in paths(&arguments.offices, &mut troubles) {
        match compute(&path, &start, &files, &repositories) {
            Ok(Some(computed)) => found.push(computed),
            // A folder may hold files of parts besides; a file that is named was meant.
            Ok(None) if !arguments.offices.contains(&path) => {}
            Ok(None) => troubles.push(format!("{}: it describes no office", path.display())),
            Err(error) => troubles.push(format!("{}: {error}", path.display())),
        }
    }
    let files = files.so_far();
    let mut out = BufWriter::new(io::stdout().lock());
    show(arguments, &found, &files, &mut out, &mut troubles)?;
    out.flush()?;
    for trouble in &troubles {
        eprintln!("drysheath: {trouble}");
    }
    Ok(if troubles.is_empty() {
        Outcome::Clean
    } else {
        Outcome::Failed
    })
}

/// The files that are meant, each with the folder that it was found from, in the order of the arguments and by name.
fn paths(meant: &[PathBuf], troubles: &mut Vec<String>) -> Vec<(PathBuf, PathBuf)> {
    let mut all = Vec::new();
    for path in meant {
        let mut found = Vec::new();
        walk(
            std::slice::from_ref(path),
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

fn compute(path: &Path, start: &Path, files: &FileTable, repositories: &Repositories) -> io::Result<Option<Computed>> {
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

fn show(
    arguments: &PredictArguments,
    found: &[Computed],
    files: &ClosedFiles,
    out: &mut dyn Write,
    troubles: &mut Vec<String>,
) -> io::Result<()> {
    if let Some(name) = &arguments.how {
        return explain(name, found, files, out, troubles);
    }
    let mut report = Report {
        form: FORM,
        offices: Vec::new(),
    };
    for (number, computed) in found.iter().enumerate() {
        let view = computed.view(files);
        let record = view.record();
        let habits = Habits::of(&computed.office);
        if let Some(folder) = &arguments.pictures {
            fs::create_dir_all(folder)?;
            for (name, svg) in view.pictures(&record, &habits) {
                fs::write(folder.join(format!("{}-{name}.svg", record.office)), svg)?;
            }
        }
        match arguments.output {
            PredictOutput::Json => report.offices.push(record),
            PredictOutput::Text => {
                if number > 0 {
                    writeln!(out)?;
                }
                out.write_all(tables(&record, &habits).as_bytes())?;
            }
        }
    }
    if arguments.output == PredictOutput::Json {
        serde_json::to_writer_pretty(&mut *out, &report)?;
        writeln!(out)?;
    }
    Ok(())
}

fn explain(
    name: &str,
    found: &[Computed],
    files: &ClosedFiles,
    out: &mut dyn Write,
    troubles: &mut Vec<String>,
) -> io::Result<()> {
    let mut known = false;
    for computed in found {
        match how(&computed.view(files), &Habits::of(&computed.office), name) {
            Asked::Told(told) => {
                known = true;
                out.write_all(told.as_bytes())?;
            }
            Asked::Nothing(why) => {
                known = true;
                writeln!(out, "{name}: {why}")?;
            }
            Asked::Unknown => {}
        }
    }
    if !known {
        troubles.push(format!("no thing is named `{name}` there"));
    }
    Ok(())
}
