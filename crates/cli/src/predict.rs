use std::fmt::Write;
use std::io;
use std::path::{Path, PathBuf};

use drysheath_disk::{create_folder, replace_all};
use drysheath_office::{Date, UnitPreferences};
use drysheath_report::{Asked, FORM, OfficeRecord, Report, how, tables};
use drysheath_sheets::pictures;
use rayon::prelude::*;

use crate::arguments::{PredictArguments, PredictOutput};
use crate::offices::Offices;
use crate::outcome::Outcome;
use crate::portable::portable;
use crate::sheets::stems;
use crate::standard_streams::{print, print_error};
use crate::today::today;

/// Computes the offices that the arguments name and shows them.
pub(crate) fn run(arguments: &PredictArguments) -> io::Result<Outcome> {
    let mut troubles = Vec::new();
    let today = today(arguments.today);
    let when = arguments.when.as_deref().map(statement);
    let mut offices = Offices::compute_with(
        &arguments.offices,
        when.as_deref(),
        arguments.allow_empty,
        today,
        &mut troubles,
    );
    if arguments.planned {
        for office in &mut offices.all {
            office.plan();
        }
    }
    let rendered = show(arguments, &offices, today, &mut troubles);
    let was_printed = print(rendered.as_bytes());
    for trouble in &troubles {
        print_error(trouble);
    }
    was_printed?;
    Ok(if troubles.is_empty() {
        Outcome::Clean
    } else {
        Outcome::Failed
    })
}

/// The statement of a state that is asked for. What is expected of it is nobody's: that no alarm comes is as good as any.
fn statement(events: &str) -> String {
    let events = events.split_whitespace().collect::<Vec<_>>().join(" ");
    format!("when {events} expect no alarm")
}

fn show(arguments: &PredictArguments, offices: &Offices, today: Date, troubles: &mut Vec<String>) -> String {
    if let Some(name) = &arguments.how {
        return explain(name, offices, troubles);
    }
    let mut rendered = String::new();
    let paths: Vec<PathBuf> = offices.all.iter().map(|analysis| analysis.path.to_path_buf()).collect();
    let stems = stems(&paths, offices.workspace.now());
    let mut report = Report {
        form: FORM,
        offices: Vec::new(),
    };
    let records = offices.all.par_iter().map(|analysis| offices.view(analysis).record());
    let records: Vec<OfficeRecord> = records.collect();
    for (number, (analysis, mut record)) in offices.all.iter().zip(records).enumerate() {
        if arguments.when.is_some() {
            // Only the state that is asked for, of which nothing is expected.
            record.states.drain(..record.states.len().saturating_sub(1));
            record.states.iter_mut().for_each(|state| state.expected.clear());
        }
        let units = UnitPreferences::of(&analysis.office);
        if let (Some(folder), Some(stem)) = (&arguments.pictures, stems.get(number)) {
            draw(&folder.join(stem), &pictures(offices.view(analysis), today), troubles);
        }
        match arguments.output {
            PredictOutput::Json => report.offices.push(record),
            PredictOutput::Text => {
                if number > 0 {
                    rendered.push('\n');
                }
                rendered.push_str(&tables(&record, &units));
            }
        }
    }
    if arguments.output == PredictOutput::Json {
        rendered = report.json();
    }
    rendered
}

/// Draws the pictures of an office into a folder of its own. What cannot be written is reported in `troubles`.
fn draw(folder: &Path, pictures: &[(String, String)], troubles: &mut Vec<String>) {
    if pictures.is_empty() {
        return;
    }
    let path = |name: &str| folder.join(format!("{}.svg", portable(name)));
    let paths: Vec<_> = pictures.iter().map(|(name, _)| path(name)).collect();
    let files = paths.iter().zip(pictures);
    let files: Vec<_> = files.map(|(path, (_, svg))| (path.as_path(), svg.as_bytes())).collect();
    if let Err(error) = create_folder(folder) {
        troubles.push(format!("{}: {error}", folder.display()));
        return;
    }
    for (path, outcome) in paths.iter().zip(replace_all(&files)) {
        match outcome {
            Ok(lost) => troubles.extend(lost.into_iter().map(|lost| format!("{}: {lost}", path.display()))),
            Err(error) => troubles.push(format!("{}: {error}", path.display())),
        }
    }
}

fn explain(name: &str, offices: &Offices, troubles: &mut Vec<String>) -> String {
    let mut known = false;
    let mut rendered = String::new();
    for analysis in &offices.all {
        match how(&offices.view(analysis), &UnitPreferences::of(&analysis.office), name) {
            Asked::Told(how) => {
                known = true;
                rendered.push_str(&how);
            }
            Asked::Nothing(why) => {
                known = true;
                let _ = writeln!(rendered, "{name}: {why}");
            }
            Asked::Unknown => {}
        }
    }
    if !known {
        troubles.push(format!("nothing is named `{name}` there"));
    }
    rendered
}
