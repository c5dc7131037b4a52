use std::io;

use drysheath_report::compare;
use drysheath_rules::Level;

use crate::arguments::{CompareArguments, CompareOutput};
use crate::outcome::Outcome;
use crate::standard_streams::{print, print_error};
use crate::today::today;
use crate::versions;

/// Compares two states of a repository and shows what changed.
pub(crate) fn run(arguments: &CompareArguments) -> io::Result<Outcome> {
    let opened = versions::open(&arguments.base, arguments.head.as_deref())?;
    let mut comparison = compare(opened.base, opened.head, today(arguments.today));
    comparison.troubles.extend(opened.troubles);
    comparison.troubles.sort();
    let rendered = match arguments.output {
        CompareOutput::Text => comparison.text(),
        CompareOutput::Markdown => comparison.markdown(),
        CompareOutput::Json => comparison.json(),
    };
    for note in &opened.notes {
        print_error(note);
    }
    let was_printed = print(rendered.as_bytes());
    for trouble in &comparison.troubles {
        print_error(format_args!("cannot be compared: {trouble}"));
    }
    was_printed?;
    let fails = arguments
        .fail_on
        .is_some_and(|level| comparison.fails(Level::from(level)));
    Ok(if !comparison.troubles.is_empty() {
        Outcome::Failed
    } else if fails {
        Outcome::Results
    } else {
        Outcome::Clean
    })
}
