use std::io;
use std::path::{Path, PathBuf};

use drysheath_disk::canonical;
use drysheath_office::Date;
use drysheath_report::{Difference, MissingItem, Now, OfficeNow, OfficeRecords, OfficeView, records_before};
use drysheath_workspace::{LoweredFile, slashed};
use rayon::prelude::*;

mod outputs;
mod temporary;

use crate::arguments::{RecordsArguments, RecordsForm};
use crate::git::Git;
use crate::offices::{NamedFiles, Offices, SharedTexts};
use crate::outcome::Outcome;
use crate::standard_streams::print_error;
use crate::today::today;
use crate::versions::before;
use outputs::{Forms, Outputs};

/// Writes the records of the offices that the arguments name.
pub(crate) fn run(arguments: &RecordsArguments) -> io::Result<Outcome> {
    let mut troubles = Vec::new();
    let today = today(arguments.today);
    let (missing, unwritten) = match &arguments.since {
        None => streamed(arguments, today, &mut troubles)?,
        Some(revision) => compared(arguments, revision, today, &mut troubles)?,
    };
    if !is_told(arguments) {
        for item in &missing {
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
    } else if missing.is_empty() {
        Outcome::Clean
    } else {
        Outcome::Results
    })
}

/// Writes the records office by office. Returns missing items and write errors.
fn streamed(
    arguments: &RecordsArguments,
    today: Date,
    troubles: &mut Vec<String>,
) -> io::Result<(Vec<MissingItem>, Vec<String>)> {
    let named = NamedFiles::find(&arguments.offices, arguments.allow_empty, today, troubles);
    let snapshot = named.workspace.snapshot();
    let shared = SharedTexts::default();
    let forms = Forms::new(arguments, None);
    let mut outputs = Outputs::begin(&forms, arguments);
    let mut missing = Vec::new();
    let made = |office: LoweredFile, _| {
        let analysis = office.analyse();
        let texts = shared.of(&analysis, &snapshot);
        let records = OfficeView::of(&analysis, &texts).records(analysis.findings(), today);
        (forms.of(&records), records.missing)
    };
    let asked = (arguments.offices.as_slice(), arguments.allow_empty);
    named.each(asked, troubles, made, |(pieces, lacking), _| {
        outputs.put(pieces, lacking.is_empty());
        missing.extend(lacking);
        Ok(())
    })?;
    Ok((missing, outputs.finish()))
}

/// Writes the records compared with those of a revision, which needs all records of both in memory.
fn compared(
    arguments: &RecordsArguments,
    revision: &str,
    today: Date,
    troubles: &mut Vec<String>,
) -> io::Result<(Vec<MissingItem>, Vec<String>)> {
    let computed = Offices::compute(&arguments.offices, arguments.allow_empty, today, troubles);
    let records = |analysis| computed.view(analysis).records(analysis.findings(), today);
    let offices: Vec<_> = computed.all.par_iter().map(records).collect();
    let difference = difference(&arguments.offices, revision, &computed, &offices, troubles)?;
    let forms = Forms::new(arguments, Some((revision, &difference)));
    let mut outputs = Outputs::begin(&forms, arguments);
    for office in &offices {
        outputs.put(forms.of(office), office.missing.is_empty());
    }
    let missing = offices.into_iter().flat_map(|office| office.missing);
    Ok((missing.collect(), outputs.finish()))
}

/// Whether standard output already contains the missing items.
fn is_told(arguments: &RecordsArguments) -> bool {
    let mut outputs = arguments.output.iter();
    arguments.note || outputs.any(|output| output.form == RecordsForm::Markdown && output.to.is_none())
}

/// Difference between the records and those of a revision. An argument names the same files there as in the working
/// tree.
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

/// Groups the arguments by the git tree that contains them, with a folder in each.
pub(crate) fn by_tree(paths: &[PathBuf]) -> Vec<(PathBuf, Vec<PathBuf>)> {
    let mut trees: Vec<(PathBuf, PathBuf, Vec<PathBuf>)> = Vec::new();
    for path in paths {
        let folder = if path.is_dir() {
            path.as_path()
        } else {
            path.parent().unwrap_or(Path::new(""))
        };
        // Outside git, the folder stands for itself; reading the revision then fails with a message.
        let top = Git::around(folder).map_or_else(|_| folder.to_owned(), |git| git.top().to_owned());
        match trees.iter_mut().find(|(other, ..)| *other == top) {
            Some((_, _, paths)) => paths.push(path.clone()),
            None => trees.push((top, folder.to_owned(), vec![path.clone()])),
        }
    }
    trees.into_iter().map(|(_, folder, paths)| (folder, paths)).collect()
}
