use std::io;
use std::path::{Path, PathBuf};

use drysheath_disk::canonical;
use drysheath_report::{
    Difference, Now, OfficeNow, OfficeRecords, RECORDS_FORM, RecordsReport, note, records_before, records_csv,
    records_markdown,
};
use drysheath_workspace::slashed;
use rayon::prelude::*;

use crate::arguments::{RecordsArguments, RecordsForm};
use crate::git::Git;
use crate::offices::Offices;
use crate::outcome::Outcome;
use crate::standard_streams::{print_error, write};
use crate::today::today;
use crate::versions::before;

/// Writes down what is to be entered for the offices that the arguments name.
pub(crate) fn run(arguments: &RecordsArguments) -> io::Result<Outcome> {
    let mut troubles = Vec::new();
    let today = today(arguments.today);
    let computed = Offices::compute(&arguments.offices, arguments.allow_empty, today, &mut troubles);
    let offices = computed
        .all
        .par_iter()
        .map(|analysis| computed.view(analysis).records(analysis.findings(), today));
    let offices: Vec<_> = offices.collect();
    let difference = match &arguments.since {
        Some(revision) => Some(difference(
            &arguments.offices,
            revision,
            &computed,
            &offices,
            &mut troubles,
        )?),
        None => None,
    };
    let since = arguments.since.as_deref().zip(difference.as_ref());
    let report = RecordsReport {
        form: RECORDS_FORM,
        since: since.map(|(revision, difference)| difference.record(revision)),
        offices,
    };
    let mut unwritten: Vec<String> = Vec::new();
    if arguments.note {
        unwritten.extend(write(None, note(&report, difference.as_ref()).as_bytes()));
    } else {
        for output in &arguments.output {
            let rendered = match output.form {
                RecordsForm::Markdown => records_markdown(&report, difference.as_ref(), arguments.all),
                RecordsForm::Csv => records_csv(&report, difference.as_ref()),
                RecordsForm::Json => report.json(),
            };
            unwritten.extend(write(output.to.as_deref(), rendered.as_bytes()));
        }
    }
    let missing = report.offices.iter().flat_map(|office| &office.missing);
    if !is_told(arguments) {
        for item in missing.clone() {
            print_error(format_args!(
                "missing: {}:{}: {} [{}]",
                item.file, item.line, item.what, item.rule
            ));
        }
    }
    for why in unwritten {
        troubles.push(format!("cannot be written: {why}"));
    }
    for trouble in &troubles {
        print_error(trouble);
    }
    Ok(if !troubles.is_empty() {
        Outcome::Failed
    } else if missing.count() > 0 {
        Outcome::Results
    } else {
        Outcome::Clean
    })
}

/// Whether standard output already says what is missing.
fn is_told(arguments: &RecordsArguments) -> bool {
    let mut outputs = arguments.output.iter();
    arguments.note || outputs.any(|output| output.form == RecordsForm::Markdown && output.to.is_none())
}

/// How the records differ from those of a revision. An argument means the same files there as it means now.
fn difference(
    meant: &[PathBuf],
    revision: &str,
    computed: &Offices,
    records: &[OfficeRecords],
    troubles: &mut Vec<String>,
) -> io::Result<Difference> {
    let mut old = Vec::new();
    for (folder, paths) in by_tree(meant) {
        let (version, top) = before(revision, &folder)?;
        let top = canonical(&top)?;
        let inner = |path: &Path| Some(slashed(canonical(path).ok()?.strip_prefix(&top).ok()?));
        let wanted: Vec<PathBuf> = paths.iter().filter_map(|path| inner(path)).map(PathBuf::from).collect();
        let offices = computed.all.iter().zip(records).filter_map(|(analysis, records)| {
            Some(OfficeNow {
                path: inner(&analysis.path)?,
                office: &analysis.office,
                records,
            })
        });
        let now = Now {
            workspace: &computed.workspace,
            texts: &computed.texts,
            offices: offices.collect(),
        };
        let (records, failed) = records_before(version, &now, |path| {
            wanted.iter().any(|wanted| Path::new(path).starts_with(wanted))
        });
        old.extend(records);
        troubles.extend(failed);
    }
    let now: Vec<_> = records
        .iter()
        .flat_map(|office| office.records.iter().cloned())
        .collect();
    Ok(Difference::between(&old, &now))
}

/// The arguments by the trees of git that they lie in, each with a folder in it.
pub(crate) fn by_tree(paths: &[PathBuf]) -> Vec<(PathBuf, Vec<PathBuf>)> {
    let mut trees: Vec<(PathBuf, PathBuf, Vec<PathBuf>)> = Vec::new();
    for path in paths {
        let folder = if path.is_dir() {
            path.as_path()
        } else {
            path.parent().unwrap_or(Path::new(""))
        };
        // Without a tree the folder means itself: asking for the revision then says what is wrong.
        let top = Git::around(folder).map_or_else(|_| folder.to_owned(), |git| git.top().to_owned());
        match trees.iter_mut().find(|(other, ..)| *other == top) {
            Some((_, _, paths)) => paths.push(path.clone()),
            None => trees.push((top, folder.to_owned(), vec![path.clone()])),
        }
    }
    trees.into_iter().map(|(_, folder, paths)| (folder, paths)).collect()
}
