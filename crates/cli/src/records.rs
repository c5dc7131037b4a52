use std::io::{self, Write};

use drysheath_office::Date;
use drysheath_report::{Difference, OfficeRecords, RECORDS_FORM, RecordsReport, note, records_csv, records_markdown};
use drysheath_rules::lint;

use crate::arguments::{RecordsArguments, RecordsForm};
use crate::computed::compute;
use crate::outcome::Outcome;
use crate::today::today;

/// Writes down what is to be entered for the offices that the arguments name.
pub(crate) fn run(arguments: &RecordsArguments) -> io::Result<Outcome> {
    let mut troubles = Vec::new();
    let offices = records(arguments, today(arguments.today), &mut troubles);
    let difference: Option<Difference> = None;
    let report = RecordsReport {
        form: RECORDS_FORM,
        since: None,
        offices,
    };
    if arguments.note {
        io::stdout().write_all(note(&report, difference.as_ref()).as_bytes())?;
    } else {
        for output in &arguments.output {
            let told = match output.form {
                RecordsForm::Markdown => records_markdown(&report, difference.as_ref()),
                RecordsForm::Csv => records_csv(&report, difference.as_ref()),
                RecordsForm::Json => serde_json::to_string_pretty(&report)? + "\n",
            };
            match &output.to {
                Some(path) => std::fs::write(path, told)
                    .map_err(|error| io::Error::new(error.kind(), format!("{}: {error}", path.display())))?,
                None => io::stdout().write_all(told.as_bytes())?,
            }
        }
    }
    let missing = report.offices.iter().flat_map(|office| &office.missing);
    if !is_told(arguments) {
        for item in missing.clone() {
            eprintln!("drysheath: missing: {}:{}: {}", item.file, item.line, item.what);
        }
    }
    for trouble in &troubles {
        eprintln!("drysheath: {trouble}");
    }
    Ok(if !troubles.is_empty() {
        Outcome::Failed
    } else if missing.count() > 0 {
        Outcome::Results
    } else {
        Outcome::Clean
    })
}

/// Whether whoever called reads on standard output what is missing.
fn is_told(arguments: &RecordsArguments) -> bool {
    let mut outputs = arguments.output.iter();
    arguments.note || outputs.any(|output| output.form == RecordsForm::Markdown && output.to.is_none())
}

fn records(arguments: &RecordsArguments, today: Date, troubles: &mut Vec<String>) -> Vec<OfficeRecords> {
    let (found, files) = compute(&arguments.offices, troubles);
    let records = found.iter().map(|computed| {
        let findings = lint(&computed.office, &computed.repository.settings, today);
        computed.view(&files).records(&findings)
    });
    records.collect()
}
