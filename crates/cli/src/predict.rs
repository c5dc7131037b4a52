use std::fs;
use std::io::{self, BufWriter, Write};

use drysheath_office::UnitPreferences;
use drysheath_report::{Asked, FORM, Report, how, tables};

use crate::arguments::{PredictArguments, PredictOutput};
use crate::computed::{Computed, compute};
use crate::files::ClosedFiles;
use crate::outcome::Outcome;

/// Computes the offices that the arguments name and shows them.
pub(crate) fn run(arguments: &PredictArguments) -> io::Result<Outcome> {
    let mut troubles = Vec::new();
    let (found, files) = compute(&arguments.offices, &mut troubles);
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
        let units = UnitPreferences::of(&computed.office);
        if let Some(folder) = &arguments.pictures {
            fs::create_dir_all(folder)?;
            for (name, svg) in view.pictures(&record, &units) {
                fs::write(folder.join(format!("{}-{name}.svg", record.office)), svg)?;
            }
        }
        match arguments.output {
            PredictOutput::Json => report.offices.push(record),
            PredictOutput::Text => {
                if number > 0 {
                    writeln!(out)?;
                }
                out.write_all(tables(&record, &units).as_bytes())?;
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
        match how(&computed.view(files), &UnitPreferences::of(&computed.office), name) {
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
