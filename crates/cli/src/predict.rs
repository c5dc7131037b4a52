use std::fs;
use std::io::{self, BufWriter, Write};

use drysheath_office::UnitPreferences;
use drysheath_report::{Asked, FORM, Report, how, tables};

use crate::arguments::{PredictArguments, PredictOutput};
use crate::offices::Offices;
use crate::outcome::Outcome;
use crate::today::today;

/// Computes the offices that the arguments name and shows them.
pub(crate) fn run(arguments: &PredictArguments) -> io::Result<Outcome> {
    let mut troubles = Vec::new();
    let offices = Offices::compute(&arguments.offices, today(None), &mut troubles);
    let mut out = BufWriter::new(io::stdout().lock());
    show(arguments, &offices, &mut out, &mut troubles)?;
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
    offices: &Offices,
    out: &mut dyn Write,
    troubles: &mut Vec<String>,
) -> io::Result<()> {
    if let Some(name) = &arguments.how {
        return explain(name, offices, out, troubles);
    }
    let mut report = Report {
        form: FORM,
        offices: Vec::new(),
    };
    for (number, analysis) in offices.all.iter().enumerate() {
        let view = offices.view(analysis);
        let record = view.record();
        let units = UnitPreferences::of(&analysis.office);
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
        out.write_all(report.json().as_bytes())?;
    }
    Ok(())
}

fn explain(name: &str, offices: &Offices, out: &mut dyn Write, troubles: &mut Vec<String>) -> io::Result<()> {
    let mut known = false;
    for analysis in &offices.all {
        match how(&offices.view(analysis), &UnitPreferences::of(&analysis.office), name) {
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
