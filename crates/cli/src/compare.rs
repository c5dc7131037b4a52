use std::io;

use drysheath_report::{Extent, compare};
use drysheath_rules::Level;

use crate::arguments::{CompareArguments, CompareForm};
use crate::outcome::Outcome;
use crate::standard_streams::{print_error, write};
use crate::today::today;
use crate::versions;

/// Compares two states of a repository and shows what changed.
pub(crate) fn run(arguments: &CompareArguments) -> io::Result<Outcome> {
    let opened = versions::open(&arguments.base, arguments.head.as_deref())?;
    let has_files = |version: &drysheath_report::Version| version.files.offices().next().is_some();
    let is_empty = !has_files(&opened.base) && !has_files(&opened.head);
    let mut comparison = compare(opened.base, opened.head, today(arguments.today));
    comparison.troubles.extend(opened.troubles);
    if is_empty {
        comparison.troubles.push(format!(
            "neither {} nor {} has an office or a part",
            comparison.base.called, comparison.head.called
        ));
    }
    comparison.troubles.sort();
    comparison.left_out = opened.notes;
    let mut unwritten = Vec::new();
    for output in &arguments.output {
        // A file is looked up, and standard output is read.
        let extent = if arguments.all || output.to.is_some() {
            Extent::Full
        } else {
            Extent::Brief
        };
        let rendered = match output.form {
            CompareForm::Text => comparison.text(extent),
            CompareForm::Markdown => comparison.markdown(extent),
            CompareForm::Json => comparison.json(),
        };
        unwritten.extend(write(output.to.as_deref(), rendered.as_bytes()));
    }
    for trouble in &comparison.troubles {
        print_error(format_args!("cannot be compared: {trouble}"));
    }
    for why in &unwritten {
        print_error(format_args!("cannot be written: {why}"));
    }
    let fails = arguments
        .fail_on
        .is_some_and(|level| comparison.fails(Level::from(level)));
    Ok(if !comparison.troubles.is_empty() || !unwritten.is_empty() {
        Outcome::Failed
    } else if fails {
        Outcome::Results
    } else {
        Outcome::Clean
    })
}
